// What the editor is compared with, and a session large enough to try it. A program of its own, so that
// the other one starts without display libraries.
//   canalogue-bench-window window                              a window with ImGui and its first frame
//   canalogue-bench-window fill LIBRARY SESSION FILE EVENTS    a session with so many events
#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>

#include <cstdio>
#include <cstdlib>
#include <string>

#include "app/desk/importing.hpp"
#include "app/editor/theme.hpp"

using namespace canalogue;

namespace {

int window_job() {
    if (!glfwInit()) return 5;
    glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
    glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
    glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
    GLFWwindow* window = glfwCreateWindow(1366, 768, "bench", nullptr, nullptr);
    if (!window) return 5;
    glfwMakeContextCurrent(window);
    ImGui::CreateContext();
    ImGui::GetIO().IniFilename = nullptr;
    ImGui_ImplGlfw_InitForOpenGL(window, true);
    ImGui_ImplOpenGL3_Init("#version 330 core");
    editor::dress(1);
    ImGui_ImplOpenGL3_NewFrame();
    ImGui_ImplGlfw_NewFrame();
    ImGui::NewFrame();
    ImGui::Text("window");
    ImGui::Render();
    ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
    glfwSwapBuffers(window);
    std::printf("drawn\n");
    std::fflush(stdout);
    return 0;
}

int fill_job(const std::string& library, const std::string& session, const std::string& file, int events) {
    auto desk = desk::Desk::open(library, "bench");
    if (!desk) return 5;
    desk::ImportWish wish;
    wish.session = session, wish.files = {file}, wish.ear = Ear::right;
    auto imported = desk::import_recordings(*desk, wish, [](const desk::Imported&) {}, {});
    if (!imported) return 5;
    const Recording& r = imported->front().recording;
    const char* const kinds[] = {"piece-removed", "instrument-in", "lens-smeared", "drum-visible", "sore-area"};
    std::vector<store::Change> changes;
    for (int i = 0; i < events; ++i) {
        Event e;
        e.id = *desk->library.next_id(session, "e"), e.kind = kinds[i % 5], e.recording = r.id, e.author = "bench";
        e.at = {r.only.length() / (events + 1) * (i + 1)};
        changes.push_back(store::put(e));
    }
    return desk->library.commit({session, "fill", "bench", std::move(changes), false}) ? 0 : 5;
}

}  // namespace

int main(int argc, char** argv) {
    const std::string what = argc > 1 ? argv[1] : "";
    if (what == "window") return window_job();
    if (what == "fill" && argc == 6) return fill_job(argv[2], argv[3], argv[4], std::atoi(argv[5]));
    std::fprintf(stderr, "Use: canalogue-bench-window window|fill ...\n");
    return 2;
}
