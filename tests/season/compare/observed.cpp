#include "compare/observed.hpp"

#include <charconv>
#include <cmath>
#include <optional>

namespace firstmow::compare {
namespace {

constexpr double kJoulePerMm = 2.45e6; // per m2

bool has(std::string_view text, std::string_view part) {
    return text.find(part) != std::string_view::npos;
}

std::optional<double> number(std::string_view text) {
    double value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value))
        return std::nullopt;
    return value;
}

std::vector<std::string_view> fields(std::string_view line) {
    std::vector<std::string_view> out;
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    for (;;) {
        const auto comma = line.find(',');
        out.push_back(line.substr(0, comma));
        if (comma == std::string_view::npos) return out;
        line.remove_prefix(comma + 1);
    }
}

double depth_mm(std::string_view name) {
    auto end = name.rfind("cm");
    if (end == std::string_view::npos) return 0;
    auto begin = end;
    while (begin > 0 &&
           (name[begin - 1] == '.' || (name[begin - 1] >= '0' && name[begin - 1] <= '9')))
        --begin;
    return number(name.substr(begin, end - begin)).value_or(0) * 10;
}

struct Column {
    Observed observed;
    double factor = 0; // 0: passed over
};

Column column_of(std::string_view name, Seconds span) {
    Column column;
    column.observed.column = name;
    column.observed.span = span;
    column.observed.depth_mm = depth_mm(name);
    Quantity& quantity = column.observed.quantity;
    column.factor = 1;
    if (has(name, "soil_temp")) {
        quantity = Quantity::soil_temp;
    } else if (has(name, "moist") || has(name, "vwc")) {
        quantity = Quantity::moisture;
        if (has(name, "pct")) column.factor = 0.01;
    } else if (has(name, "latent") && has(name, "w_m2")) {
        quantity = Quantity::evapotranspiration;
        column.factor = static_cast<double>(span.count()) / kJoulePerMm;
    } else if (has(name, "actual_et") && has(name, "mm")) {
        quantity = Quantity::evapotranspiration;
    } else if (has(name, "eto_mm")) {
        quantity = Quantity::reference_et;
    } else if (has(name, "percolation")) {
        quantity = Quantity::drained;
    } else {
        column.factor = 0;
    }
    return column;
}

std::optional<WallTime> time_of(std::string_view text, bool daily, const TimeZone& local) {
    if (!daily) {
        const auto time = parse_iso8601(text);
        return time ? std::optional(*time) : std::nullopt;
    }
    const auto date = parse_date(text);
    return date ? std::optional(local.to_wall(*date, 0)) : std::nullopt;
}

} // namespace

std::vector<Observed> read_observed(std::string_view csv, const TimeZone& local) {
    std::vector<Column> columns;
    bool daily = false;
    for (bool header = true; !csv.empty(); header = false) {
        const auto end = csv.find('\n');
        const auto line = fields(csv.substr(0, end));
        csv.remove_prefix(end == std::string_view::npos ? csv.size() : end + 1);
        if (header) {
            daily = line.front() == "date_local";
            if (!daily && line.front() != "time") return {};
            for (std::size_t i = 1; i < line.size(); ++i)
                columns.push_back(column_of(line[i], Seconds{daily ? 86400 : 3600}));
            continue;
        }
        const auto at = time_of(line.front(), daily, local);
        if (!at) continue;
        for (std::size_t i = 0; i < columns.size() && i + 1 < line.size(); ++i)
            if (const auto value = number(line[i + 1]); value && columns[i].factor > 0)
                columns[i].observed.values.emplace_back(*at, *value * columns[i].factor);
    }
    std::vector<Observed> out;
    for (Column& column : columns)
        if (!column.observed.values.empty()) out.push_back(std::move(column.observed));
    return out;
}

Agreement agreement(const std::vector<std::pair<double, double>>& pairs) {
    Agreement a;
    a.count = pairs.size();
    if (pairs.empty()) return a;
    const auto n = static_cast<double>(pairs.size());
    double observed = 0, modelled = 0;
    for (const auto& [o, m] : pairs) {
        observed += o / n;
        modelled += m / n;
    }
    double oo = 0, mm = 0, om = 0, error = 0;
    for (const auto& [o, m] : pairs) {
        oo += (o - observed) * (o - observed);
        mm += (m - modelled) * (m - modelled);
        om += (o - observed) * (m - modelled);
        error += (m - o) * (m - o);
    }
    a.bias = modelled - observed;
    a.rmse = std::sqrt(error / n);
    a.unbiased_rmse = std::sqrt(std::max(error / n - a.bias * a.bias, 0.0));
    if (oo > 0 && mm > 0) a.correlation = om / std::sqrt(oo * mm);
    return a;
}

} // namespace firstmow::compare
