#include "app/editor/welcome.hpp"

#include <GLFW/glfw3.h>

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"
#include "app/plugin_host/beside_program.hpp"
#include "app/store/vault.hpp"

extern char** environ;

namespace canalogue::editor {

namespace {

// Runs a program of ours to its end; killed when asked to stop.
Result<void> run_beside(const std::vector<std::string>& words, const Progress& progress) {
    std::vector<char*> argv;
    for (const auto& w : words) argv.push_back(const_cast<char*>(w.c_str()));
    argv.push_back(nullptr);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 1, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&actions, 2, "/dev/null", O_WRONLY, 0);
    pid_t pid = 0;
    const int started = posix_spawn(&pid, argv[0], &actions, nullptr, argv.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    if (started != 0) return machine_trouble("The program 'canalogue' is not beside this one; build it again.");
    int status = 0;
    while (waitpid(pid, &status, WNOHANG) == 0) {
        if (progress.stopped()) kill(pid, SIGTERM);
        usleep(50'000);
    }
    if (progress.stopped()) return cancelled();
    if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) return machine_trouble("The demo session could not be drawn: check the free space in the library's folder.");
    return {};
}

const char* const kSteps[][2] = {
    {"The picture", "Space plays and stops. The arrows step by single frames, with Shift by seconds. The wheel zooms, a drag moves, a double click shows all again."},
    {"The time map", "One map of the whole session: events of each ear, suspects, what was watched. Click or drag to go there; the wheel zooms to the pointer."},
    {"Session desk", "One key for each kind of event places it at the shown frame while the film runs. The record writes itself; Ctrl+C copies it for the notes."},
    {"Privacy desk", "Every suspect waits in a queue. C covers, H calls it harmless with a reason. What nobody judged stays covered for learners and the public."},
    {"Clip desk", "Draft a plan from the events, change cards and narration, look at the preview, make the film. It is checked before it appears."},
    {"Library", "Find sessions and films again. It teaches and documents; it does not diagnose. Detectors miss things: a person must watch before anything is shown."},
};

}  // namespace

void Welcome::open_demo(Workplace& w) {
    const std::string library = w.desk.library.folder().string();
    const std::string program = (program_folder() / "canalogue").string();
    const std::string by = w.settings.author.empty() ? "demo clinician" : w.settings.author;
    w.beside("Drawing the demo session", [&w, library, program, by](desk::Desk&, const Progress& progress) -> Result<Jobs::Then> {
        progress.report("Drawing the demo session", 0);
        if (auto ok = run_beside({program, "demo", "--into", library, "--out", library + "/demo", "--by", by}, progress); !ok) return ok.failure();
        return Jobs::Then([&w] {
            if (w.open("demo")) w.at = DeskName::session;
        });
    });
}

void Welcome::finish(Workplace& w, bool demo) {
    if (!passphrase_.empty()) {
        if (passphrase_ != again_) {
            w.complaint = "The two passphrases differ; type the same twice.";
            return;
        }
        auto there = w.desk.library.vault();
        if (there && !*there) {
            auto made = store::Vault::make(passphrase_);
            if (!made) {
                w.failed(made.failure());
                return;
            }
            if (auto kept = w.desk.library.keep_vault(*made); !kept) {
                w.failed(kept.failure());
                return;
            }
        }
        w.passphrase = passphrase_;
    }
    w.settings.clinic = clinic_;
    w.settings.author = author_;
    w.desk.person = author_;
    keep_settings(w.desk.library.folder(), w.settings);
    w.complaint.clear();
    if (w.session.empty()) w.at = DeskName::library;
    if (demo) open_demo(w);
    start_tour();
}

void Welcome::draw(Workplace& w, ImVec2 size) {
    const float width = px(560);
    ImGui::SetCursorPos({(size.x - width) / 2, px(48)});
    ImGui::BeginChild("welcome", {width, size.y - px(70)});
    ImGui::PushFont(ui().fonts.large);
    ImGui::TextUnformatted("Canalogue");
    ImGui::PopFont();
    quiet("Ear-care session video in; a record, covered film and teaching clips out. It teaches and documents; it does not diagnose. Local policy, current guidance and licensed practice decide.");
    gap(10);
    strong("Your name");
    field("author", author_, "stands beside every event and decision");
    strong("Clinic");
    field("clinic", clinic_, "may be left empty");
    // A library that others have begun has its passphrase, and its sessions, already.
    if (!looked_) {
        const auto vault = w.desk.library.vault();
        has_vault_ = vault && *vault;
        const auto sessions = w.desk.library.sessions();
        begun_ = has_vault_ || (sessions && !sessions->empty());
        if (author_.empty()) author_ = w.desk.person;
        looked_ = true;
    }
    if (!has_vault_) {
        strong("Passphrase of this library");
        quiet("Names and numbers of patients are sealed with it. Whoever loses it loses them. At least 8 characters; you may set it later.");
        field("new passphrase", passphrase_, "passphrase", -1, true);
    }
    if (!passphrase_.empty()) field("passphrase again", again_, "once more", -1, true);
    if (!w.complaint.empty()) said(w.complaint.c_str(), theme().danger);
    gap(8);
    const bool ready = !author_.empty();
    if (button("start with demo", "Start with the demo session", "", Look::primary, ready)) finish(w, true);
    ImGui::SameLine();
    if (button("start", begun_ ? "Open this library" : "Start with an empty library", "", Look::plain, ready)) finish(w, false);
    if (!ready) quiet("Write your name to begin.");
    ImGui::EndChild();
}

void Welcome::draw_tour(Workplace& w, ImVec2 size) {
    const float width = px(420), height = px(190);
    ImGui::SetNextWindowPos({(size.x - width) / 2, size.y - height - px(220)});
    ImGui::SetNextWindowSize({width, height});
    ImGui::PushStyleColor(ImGuiCol_WindowBg, colour4(theme().raised));
    ImGui::Begin("tour", nullptr, ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings);
    strong(kSteps[step_ - 1][0]);
    quiet(kSteps[step_ - 1][1]);
    ImGui::SetCursorPosY(height - px(48));
    const bool last = step_ == 6;
    if (ui().keys.down(GLFW_KEY_ESCAPE)) step_ = 0;
    if (button("tour next", last ? "Begin" : "Next", std::to_string(step_) + " of 6", Look::primary)) step_ = last ? 0 : step_ + 1;
    ImGui::SameLine();
    if (!last && button("tour end", "Skip the tour")) step_ = 0;
    if (step_ == 0) {
        w.settings.toured = true;
        keep_settings(w.desk.library.folder(), w.settings);
    }
    ImGui::End();
    ImGui::PopStyleColor();
}

}  // namespace canalogue::editor
