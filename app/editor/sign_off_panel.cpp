#include "app/editor/sign_off_panel.hpp"

#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {
constexpr const char* kReading = "Reading the films";
constexpr std::size_t kShown = 4;  // films; older ones are listed by 'canalogue signoff'
}

// Hashing the files of a film takes a moment: beside the window.
void SignOffPanel::read(Workplace& w) {
    if (w.jobs.running(kReading) || (of_ == w.session && revision_ == w.revision())) return;
    if (of_ != w.session) lines_.reset();
    const std::string session = w.session;
    const int revision = w.revision();
    w.beside(kReading, [this, session, revision](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        std::vector<Line> lines;
        Result<std::vector<desk::Export>> all = desk::exports(own, session);
        for (std::size_t i = 0; all && i < all->size() && i < kShown; ++i) {
            auto against = desk::hindrances(own, session, (*all)[i], progress);
            lines.push_back({(*all)[i], against ? *against : std::vector<std::string>{against.failure().sentence}});
        }
        return Jobs::Then([this, session, revision, lines] {
            lines_ = lines;
            of_ = session;
            revision_ = revision;
        });
    }, true);
}

void SignOffPanel::draw_line(Workplace& w, const Line& line) {
    const desk::Export& e = line.made;
    strong((std::string(name_of(e.audience)) + ", " + e.at.substr(0, 10) + " " + e.at.substr(11, 5)).c_str());
    quiet(e.folder.string().c_str());
    if (e.signed_off) {
        said(("Signed off by " + e.signed_off->by + ", " + e.signed_off->at.substr(0, 10)).c_str(), theme().accent);
        probe().mark("signed " + e.id, 0, 0, 1, 1, e.signed_off->by);
    }
    for (const auto& a : line.against) quiet(("\u2022 " + a).c_str());
    probe().mark("against " + e.id, 0, 0, 1, 1, std::to_string(line.against.size()));
    if (e.signed_off || !line.against.empty()) return;
    if (w.passphrase.empty()) return quiet("Nothing stands against it. Unlock the library above to sign it off.");
    if (!button("sign " + e.id, "Sign off", "", Look::primary)) return;
    const std::string session = w.session, id = e.id, secret = w.passphrase;
    w.beside("Signing off", [&w, session, id, secret](desk::Desk& own, const Progress& progress) -> Result<Jobs::Then> {
        auto given = desk::sign_off(own, session, id, secret, progress);
        if (!given) return given.failure();
        return Jobs::Then([&w] { w.succeeded("Signed off: this exact film may leave. Local rules still decide where to."); });
    });
}

void SignOffPanel::draw(Workplace& w) {
    read(w);
    if (!lines_) return quiet("Reading the films \u2026");
    if (lines_->empty()) return quiet("No film was made of this session yet. The Clip desk makes one; here it is signed off.");
    for (const auto& line : *lines_) draw_line(w, line);
}

}  // namespace canalogue::editor
