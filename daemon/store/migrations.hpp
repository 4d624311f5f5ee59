// The shape of the database, version by version. `PRAGMA user_version` says which one a file has;
// opening brings it up to the newest, each step in a transaction of its own.
//
// A released version never changes: a new shape is a new entry at the end.
#pragma once

#include "base/result.hpp"
#include "store/database.hpp"

namespace firstmow::store {

// "fmow": marks a file as ours (PRAGMA application_id).
constexpr int kApplicationId = 0x666d6f77;

// The newest version that this program knows.
int newest_version();

// From `version` (0: empty) to the newest.
Status migrate(Database& database, int version);

} // namespace firstmow::store
