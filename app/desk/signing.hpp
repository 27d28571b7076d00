// Exports of a session and the reviewer's sign-off: a recorded, keyed statement that one exact export may
// leave. It is given for the export's manifest (which holds the hash of every file) and for the head of the
// journal's chain, so that neither can change unnoticed.
#pragma once

#include "app/core/audience.hpp"
#include "app/core/cover.hpp"
#include "app/desk/desk.hpp"

namespace canalogue::desk {

struct SignOff {
    std::string id, by, at;  // at: UTC
    std::string manifest;    // SHA-256 of manifest.json
    std::string chain_head;
    std::string signature;   // Ed25519 by a key that only the library's passphrase gives, base64
};

struct Export {
    std::string id, at;
    Audience audience = Audience::learners;
    std::filesystem::path folder;
    std::string manifest;
    std::string covers;      // what was covered when it was made; see hash_of
    bool held = false;
    std::optional<SignOff> signed_off;
};

// Newest first.
Result<std::vector<Export>> exports(const Desk& desk, const std::string& session);

// A hash of what is covered and hushed, by recording.
std::string hash_of(const std::map<std::string, Covers>& covers);

// What stands against a sign-off now, in sentences; none: it may be given. For strangers: open suspects,
// spans that nobody watched in the public look, covers changed since. For all: a held export, files that are
// not what the manifest says.
Result<std::vector<std::string>> hindrances(Desk& desk, const std::string& session, const Export& what, const Progress& progress);

// Refuses with the first hindrance. Needs a named person and the passphrase. A row that is never undone.
Result<SignOff> sign_off(Desk& desk, const std::string& session, const std::string& export_id, const std::string& passphrase, const Progress& progress);

// Whether the signature is of this library's key and for these words.
Result<bool> holds(const Desk& desk, const SignOff& given, const std::string& passphrase);

}  // namespace canalogue::desk
