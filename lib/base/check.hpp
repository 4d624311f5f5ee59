// CHECK: a promise the program makes to itself, kept in every build.
//
// A failed CHECK is a fault of the programmer, never of input or hardware: it prints the place
// and aborts, and whatever holds the valves then closes them (dying is a safe state).
#pragma once

namespace firstmow {

[[noreturn]] void check_failed(const char* condition, const char* file, int line);

} // namespace firstmow

#define CHECK(condition)                                                                           \
    do {                                                                                           \
        if (!(condition)) ::firstmow::check_failed(#condition, __FILE__, __LINE__);                \
    } while (false)
