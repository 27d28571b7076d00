// A file system for SQLite that can lose power: whatever was written since a file was last synced is
// dropped when the power goes. Wraps the usual one; for tests.
#pragma once

#include <string>

namespace canalogue::test {

// Makes it the default from now on. Once for a process.
void use_forgetful_vfs();

// The power goes now: for every file written through it, what was not synced is undone on the disk, and
// from here on nothing is written any more (the dying process may still try).
void power_goes();

// How many writes were undone, for a test that wants to know that it tests something.
long writes_undone();

}  // namespace canalogue::test
