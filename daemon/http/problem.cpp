#include "http/problem.hpp"

#include "tables/json_text.hpp"

namespace firstmow::http {

std::string_view status_phrase(int status) {
    switch (status) {
    case 200:
        return "OK";
    case 304:
        return "Not Modified";
    case 400:
        return "Bad Request";
    case 401:
        return "Unauthorized";
    case 403:
        return "Forbidden";
    case 404:
        return "Not Found";
    case 405:
        return "Method Not Allowed";
    case 409:
        return "Conflict";
    case 412:
        return "Precondition Failed";
    case 413:
        return "Content Too Large";
    case 415:
        return "Unsupported Media Type";
    case 421:
        return "Misdirected Request";
    case 422:
        return "Unprocessable Content";
    case 428:
        return "Precondition Required";
    case 429:
        return "Too Many Requests";
    case 431:
        return "Request Header Fields Too Large";
    case 500:
        return "Internal Server Error";
    case 503:
        return "Service Unavailable";
    case 504:
        return "Gateway Timeout";
    default:
        return "Error";
    }
}

Reply problem(int status, std::string_view kind, const std::string& detail) {
    Reply reply;
    reply.status = status;
    reply.content_type = "application/problem+json";
    reply.body = "{\"type\":\"urn:firstmow:" + std::string(kind) +
                 "\",\"title\":" + tables::json_text(status_phrase(status)) +
                 ",\"status\":" + std::to_string(status) +
                 ",\"detail\":" + tables::json_text(detail) + "}\n";
    return reply;
}

} // namespace firstmow::http
