// What lines differ between two texts: the longest lines in common stay.
#include "garden/edit.hpp"

#include <algorithm>

namespace firstmow::garden {

namespace {

// Beyond so many pairs of lines everything between the first and the last difference goes and
// comes.
constexpr std::size_t kMostPairs = 4'000'000;

std::vector<std::string_view> lines_of(std::string_view text) {
    std::vector<std::string_view> lines;
    while (!text.empty()) {
        const std::size_t end = std::min(text.find('\n'), text.size());
        std::string_view line = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (line.ends_with('\r')) line.remove_suffix(1);
        lines.push_back(line);
    }
    return lines;
}

} // namespace

std::vector<LineChange> line_changes(std::string_view before, std::string_view after) {
    const std::vector<std::string_view> old = lines_of(before);
    const std::vector<std::string_view> fresh = lines_of(after);
    std::size_t head = 0;
    while (head < old.size() && head < fresh.size() && old[head] == fresh[head])
        ++head;
    std::size_t tail = 0;
    while (tail < old.size() - head && tail < fresh.size() - head &&
           old[old.size() - 1 - tail] == fresh[fresh.size() - 1 - tail])
        ++tail;
    const std::size_t n = old.size() - head - tail;
    const std::size_t m = fresh.size() - head - tail;
    // common[i][j]: the most lines in common of the old from i and the new from j.
    std::vector<std::vector<std::size_t>> common;
    const bool look = n == 0 || m <= kMostPairs / n;
    if (look) {
        common.assign(n + 1, std::vector<std::size_t>(m + 1, 0));
        for (std::size_t i = n; i-- > 0;)
            for (std::size_t j = m; j-- > 0;)
                common[i][j] = old[head + i] == fresh[head + j]
                                   ? common[i + 1][j + 1] + 1
                                   : std::max(common[i + 1][j], common[i][j + 1]);
    }
    std::vector<LineChange> changes;
    std::size_t i = 0;
    std::size_t j = 0;
    while (i < n || j < m) {
        if (look && i < n && j < m && old[head + i] == fresh[head + j]) {
            ++i;
            ++j;
        } else if (i < n && (!look || j == m || common[i + 1][j] >= common[i][j + 1])) {
            changes.push_back({static_cast<int>(head + i + 1), false, std::string(old[head + i])});
            ++i;
        } else {
            changes.push_back({static_cast<int>(head + j + 1), true, std::string(fresh[head + j])});
            ++j;
        }
    }
    return changes;
}

} // namespace firstmow::garden
