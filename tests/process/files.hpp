// Files of the tests, and what is looked for in them.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace firstmow::process {

// A fresh folder that anybody may enter; goes away with all that is in it.
class TempDir {
public:
    TempDir();
    ~TempDir();
    TempDir(const TempDir&) = delete;
    TempDir& operator=(const TempDir&) = delete;
    std::string file(const std::string& name) const { return path_ + "/" + name; }
    const std::string& path() const { return path_; }

private:
    std::string path_;
};

void write(const std::string& path, std::string_view content);
void append(const std::string& path, std::string_view content);
std::string content_of(const std::string& path); // "" when it is not there
bool exists(const std::string& path);
// The names in a folder, sorted.
std::vector<std::string> names_in(const std::string& folder);
// Every file below a folder with its bytes, to see that nothing has changed.
std::string all_below(const std::string& folder);

std::vector<std::string> lines(const std::string& text);
int count(const std::string& text, std::string_view what);
inline bool has(const std::string& text, std::string_view what) {
    return text.find(what) != std::string::npos;
}
// The fields of a line of CSV; quotes are taken off.
std::vector<std::string> fields(const std::string& line);

} // namespace firstmow::process
