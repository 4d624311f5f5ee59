// The files of the page, embedded in the program when it is built (embed.cmake).
#pragma once

#include <span>
#include <string_view>

namespace firstmow::http {

struct Asset {
    std::string_view path; // "/app.js"
    std::string_view content_type;
    std::string_view etag; // with its quotes
    std::string_view body;
    std::string_view packed; // the same with gzip
};

std::span<const Asset> assets();
// Null when there is none.
const Asset* find_asset(std::string_view path);

} // namespace firstmow::http
