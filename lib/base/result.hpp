// Result<T>: a value, or one sentence about what went wrong and what would be right.
//
// For failures that are expected of the world (files, input, requests). Faults of the programmer
// are CHECKs instead. Reading the side that is not there is such a fault.
#pragma once

#include "base/check.hpp"

#include <string>
#include <utility>
#include <variant>

namespace firstmow {

// `message` is one line for a person: where, what is wrong, and what would be right.
struct Error {
    std::string message;
    bool operator==(const Error&) const = default;
};

template <class T>
class [[nodiscard]] Result {
public:
    Result(T value) : held_(std::in_place_index<0>, std::move(value)) {}
    Result(Error error) : held_(std::in_place_index<1>, std::move(error)) {}

    bool ok() const { return held_.index() == 0; }
    explicit operator bool() const { return ok(); }

    const T& value() const& {
        CHECK(ok());
        return *std::get_if<0>(&held_);
    }
    T& value() & {
        CHECK(ok());
        return *std::get_if<0>(&held_);
    }
    T&& value() && {
        CHECK(ok());
        return std::move(*std::get_if<0>(&held_));
    }
    const T& operator*() const& { return value(); }
    T& operator*() & { return value(); }
    const T* operator->() const { return &value(); }
    T* operator->() { return &value(); }

    const Error& error() const {
        CHECK(!ok());
        return *std::get_if<1>(&held_);
    }

private:
    std::variant<T, Error> held_;
};

// A step that yields nothing but may fail.
struct Done {};
using Status = Result<Done>;

} // namespace firstmow
