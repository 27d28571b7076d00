#include "app/desk/desk.hpp"

#include <algorithm>
#include <cstdlib>
#include <fstream>

#include "app/core/cover.hpp"
#include "app/core/text.hpp"

namespace canalogue::desk {

namespace fs = std::filesystem;

Result<Desk> Desk::open(const fs::path& folder, const std::string& person) {
    auto name = one_line(person, "Your name");
    if (!name) return name.failure();
    auto library = store::Library::open(folder);
    if (!library) return library.failure();
    Desk desk(std::move(*library));
    desk.plugins = PluginCatalog::read();
    desk.person = *name;
    return desk;
}

fs::path Desk::usual_library() {
    if (const char* xdg = std::getenv("XDG_DATA_HOME"); xdg && *xdg) return fs::path(xdg) / "canalogue";
    const char* home = std::getenv("HOME");
    return fs::path(home && *home ? home : ".") / ".local/share/canalogue";
}

Result<Session> Desk::session(const std::string& id) const {
    auto found = library.find<Session>(id, id);
    if (!found) return found.failure();
    if (!*found) return wrong_use("There is no session '" + legible(id) + "' in this library; 'canalogue show' lists them, 'canalogue import' makes one.");
    return std::move(**found);
}

Result<std::vector<Recording>> Desk::recordings(const std::string& id) const {
    auto all = library.all<Recording>(id);
    if (all) order_in_session_time(*all);
    return all;
}

Result<std::vector<Event>> Desk::events(const std::string& id) const {
    auto all = events_.all(library, id);
    if (!all) return all;
    auto recs = recordings(id);
    if (!recs) return recs.failure();
    std::map<std::string, Nanos> offsets;
    for (const auto& r : *recs) offsets[r.id] = r.offset.ns;
    std::vector<std::pair<Nanos, std::size_t>> order;
    for (std::size_t i = 0; i < all->size(); ++i) order.emplace_back(offsets[(*all)[i].recording] + (*all)[i].at.ns, i);
    std::sort(order.begin(), order.end());
    std::vector<Event> out;
    out.reserve(all->size());
    for (const auto& [at, i] : order) out.push_back(std::move((*all)[i]));
    return out;
}

Result<std::vector<Event>> Desk::accepted_events(const std::string& id) const {
    auto all = events(id);
    if (all) std::erase_if(*all, [](const Event& e) { return e.origin != Origin::person; });
    return all;
}

Result<Vocabulary> Desk::vocabulary(const std::string& plugin_id) const {
    const PluginInfo* plugin = plugins.find(plugin_id);
    if (!plugin || plugin->provides != Provides::vocabulary)
        return machine_trouble("The vocabulary '" + plugin_id + "' is not installed; 'canalogue plugins' lists what is.");
    if (!plugin->available) return machine_trouble(plugin->why_not);
    std::ifstream in(plugin->vocabulary, std::ios::binary);
    if (!in) return machine_trouble("The vocabulary '" + plugin_id + "' cannot be read; install it again.");
    return Vocabulary::parse(std::string((std::istreambuf_iterator<char>(in)), {}));
}

Result<Vocabulary> Desk::vocabulary_of(const std::string& id) const {
    auto found = session(id);
    if (!found) return found.failure();
    return vocabulary(found->vocabulary);
}

std::map<std::string, std::string> Desk::spotter_versions() const {
    std::map<std::string, std::string> out;
    for (const auto& id : required_spotters())
        if (const PluginInfo* p = plugins.find(id); p && p->provides == Provides::spotter) out[id] = p->version;
    return out;
}

void Desk::ask_spotters() {
    if (!asked_) plugins.ask_spotters(host);
    asked_ = true;
}

fs::path Desk::index_cache(const std::string& hash) const { return library.folder() / "cache" / (hash + ".index"); }

Result<std::shared_ptr<const media::FrameIndex>> Desk::index(const Recording& recording, const Progress& progress) const {
    if (!recording.hash.empty())
        if (auto cached = media::FrameIndex::load(index_cache(recording.hash))) return std::make_shared<const media::FrameIndex>(std::move(*cached));
    auto built = media::FrameIndex::build(recording.path, progress);
    if (!built) return built.failure();
    if (!recording.hash.empty()) (void)built->save(index_cache(recording.hash));  // a cache: works without
    return std::make_shared<const media::FrameIndex>(std::move(*built));
}

Result<std::optional<store::Vault>> Desk::vault(const std::string& passphrase) const {
    auto record = library.vault();
    if (!record) return record.failure();
    if (!*record) return std::optional<store::Vault>{};
    const std::string by = store::sha256((**record).salt + passphrase);
    if (!opened_ || opened_->by != by || opened_->salt != (**record).salt) {
        auto opened = store::Vault::open(**record, passphrase);
        if (!opened) return opened.failure();
        opened_ = Opened{by, (**record).salt, std::move(*opened)};
    }
    return std::optional<store::Vault>(opened_->vault);
}

}  // namespace canalogue::desk
