// The desk a person works at: the open library, the installed plugins, and who is working. Every use
// case takes it; one desk belongs to one thread.
#pragma once

#include <map>
#include <memory>
#include <string>

#include "app/core/vocabulary.hpp"
#include "app/media/frame_index.hpp"
#include "app/plugin_host/plugin_catalog.hpp"
#include "app/plugin_host/spotter_process.hpp"
#include "app/store/library.hpp"
#include "app/store/sealing.hpp"
#include "app/store/vault.hpp"

namespace canalogue::desk {

struct Desk {
    store::Library library;
    PluginCatalog plugins;
    HostOptions host;
    std::string person;  // the name that journal rows carry

    // Opens the library (making it when new) and reads the plugins.
    static Result<Desk> open(const std::filesystem::path& library, const std::string& person);

    // The default: $XDG_DATA_HOME/canalogue, else ~/.local/share/canalogue.
    static std::filesystem::path usual_library();

    Result<Session> session(const std::string& id) const;                  // refuses an unknown one
    Result<std::vector<Recording>> recordings(const std::string& session) const;  // in session order
    Result<std::vector<Event>> events(const std::string& session) const;          // in session order
    Result<std::vector<Event>> accepted_events(const std::string& session) const;
    Result<Vocabulary> vocabulary(const std::string& plugin_id) const;
    Result<Vocabulary> vocabulary_of(const std::string& session) const;

    // The version of each required spotter that is installed. What it has scanned stays scanned, even where it
    // could not work any more.
    std::map<std::string, std::string> spotter_versions() const;
    // Finds out which spotters can work here (PluginInfo::available): starts each once, which takes its time.
    void ask_spotters();

    // The index of a recording's file, from the cache or built now.
    Result<std::shared_ptr<const media::FrameIndex>> index(const Recording& recording, const Progress& progress) const;
    std::filesystem::path index_cache(const std::string& hash) const;

    // The vault opened by its passphrase. Deriving the key takes most of a second on purpose, so the last one that
    // opened is kept: whoever has the library unlocked acts many times. None in a library without a vault.
    Result<std::optional<store::Vault>> vault(const std::string& passphrase) const;

  private:
    struct Opened {
        std::string by, salt;  // hash of the passphrase; of which vault
        store::Vault vault;
    };
    mutable std::optional<Opened> opened_;
    Desk(store::Library l) : library(std::move(l)) {}
    bool asked_ = false;
    mutable store::Reread<Event> events_;
};

}  // namespace canalogue::desk
