// The inside of Store, shared by its .cpp files.
#pragma once

#include "store/database.hpp"
#include "store/store.hpp"

#include <utility>

namespace firstmow::store {

struct Store::Impl {
    Database database;
    bool begun = false;  // between begin() and commit()
    bool broken = false; // a write within has failed
};

// Runs `work` within the transaction that is open, or in one of its own.
template <class Work>
Status Store::atomically(Work work) {
    const bool own = !impl_->begun;
    if (own) {
        Status begun = begin();
        if (!begun.ok()) return begun;
    } else if (impl_->broken) {
        return impl_->database.complaint(impl_->database.fault(),
                                         "the transaction has already failed");
    }
    Status done = work(impl_->database);
    if (!done.ok()) {
        impl_->broken = true;
        if (own) rollback();
        return done;
    }
    return own ? commit() : Status(Done{});
}

} // namespace firstmow::store
