#include "app/editor/window.hpp"

#include <epoxy/gl.h>

#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>
#include <imgui_freetype.h>

#include <chrono>
#include <cmath>
#include <csignal>
#include <ctime>
#include <cstdio>
#include <cstdlib>

#include "app/desk/gauging.hpp"
#include "app/editor/probe.hpp"
#include "app/editor/ui.hpp"

namespace canalogue::editor {

namespace {

constexpr float kRail = 186, kPanel = 430;
constexpr double kIdleWait = 0.5;   // seconds without an event until a frame is drawn all the same

volatile std::sig_atomic_t stop_asked = 0;

double steady_seconds() { return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count(); }

// What this thread has computed, whoever else wants the machine.
double thread_seconds() {
    timespec t{};
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + static_cast<double>(t.tv_nsec) / 1e9;
}

std::vector<std::string>& dropped_files() {
    static std::vector<std::string> files;
    return files;
}

}  // namespace

Window::Window(desk::Desk& desk, WindowOptions options) : options_(std::move(options)), w_(desk) {
    w_.settings = read_settings(desk.library.folder());
    if (w_.desk.person.empty()) w_.desk.person = w_.settings.author;  // who is named at the start works now
    factor_ = w_.settings.scale > 0 ? w_.settings.scale : 1;
    use_theme(w_.settings.light);
    hear_volume();
}

Window::~Window() {
    probe().close();
    if (!window_) return;
    screen_.close();
    ImGui_ImplOpenGL3_Shutdown();
    ImGui_ImplGlfw_Shutdown();
    ImGui::DestroyContext();
    // Textures in members go with the context.
}

Result<void> Window::make_window() {
    glfwSetErrorCallback([](int, const char*) {});
    if (!glfwInit()) return machine_trouble("No display can be reached: start the editor from a desktop, or use the commands of 'canalogue'.");
    glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
    glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
    glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
    int width = 1500, height = 900;
    if (!options_.place.empty()) std::sscanf(options_.place.c_str(), "%dx%d", &width, &height);
    else if (GLFWmonitor* monitor = glfwGetPrimaryMonitor()) {
        int x, y, w, h;
        glfwGetMonitorWorkarea(monitor, &x, &y, &w, &h);
        if (w > 0 && h > 0) width = std::min(w, std::max(1366, w * 9 / 10)), height = std::min(h, std::max(728, h * 9 / 10));
    }
    window_ = glfwCreateWindow(width, height, "Canalogue", nullptr, nullptr);
    if (!window_) return machine_trouble("The display offers no OpenGL 3.3: update its driver, or use the commands of 'canalogue'.");
    glfwSetWindowSizeLimits(window_, 1024, 640, GLFW_DONT_CARE, GLFW_DONT_CARE);
    if (!options_.place.empty()) glfwSetWindowPos(window_, 0, 0);
    glfwMakeContextCurrent(window_);
    glfwSwapInterval(1);
    glfwSetDropCallback(window_, [](GLFWwindow*, int n, const char** paths) {
        for (int i = 0; i < n; ++i) dropped_files().push_back(paths[i]);
    });
    ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;  // nothing of a session is left in files
    io.ConfigInputTextCursorBlink = false;
    io.Fonts->FontBuilderIO = ImGuiFreeType::GetBuilderForFreeType();
    // Set before ImGui's own, which calls it.
    glfwSetKeyCallback(window_, [](GLFWwindow*, int key, int, int action, int modifiers) {
        if (action != GLFW_RELEASE) ui().keys.came(key, action == GLFW_REPEAT, modifiers);
    });
    glfwSetCursorPosCallback(window_, [](GLFWwindow*, double x, double y) { ui().pointer = {static_cast<float>(x), static_cast<float>(y)}; });
    glfwSetMouseButtonCallback(window_, [](GLFWwindow*, int which, int action, int) {
        if (which == GLFW_MOUSE_BUTTON_LEFT) (action == GLFW_PRESS ? ui().pressed_at : ui().released_at) = ui().pointer;
    });
    ImGui_ImplGlfw_InitForOpenGL(window_, true);
    ImGui_ImplOpenGL3_Init("#version 330 core");
    if (!options_.probe.empty() && !probe().listen(options_.probe)) return machine_trouble("The probe's socket cannot be made.");
    return {};
}

Result<void> Window::run() {
    if (auto ok = make_window(); !ok) return ok;
    if (!options_.session.empty() && !w_.open(options_.session)) return wrong_use(w_.complaint);
    if (w_.session.empty()) w_.at = DeskName::library;
    loop();
    privacy_desk_.keep(w_);
    return {};
}

void Window::rescale() {
    float x = 1, y = 1;
    glfwGetWindowContentScale(window_, &x, &y);
    const double monitor = options_.scale > 0 ? options_.scale : static_cast<double>(x);
    ui().scale = static_cast<float>(monitor * factor_);
    ui().fonts = dress(ui().scale);
    ImGui_ImplOpenGL3_DestroyFontsTexture();
    ImGui_ImplOpenGL3_CreateFontsTexture();
    screen_.forget();
    scale_changed_ = false;
}

void Window::loop() {
    std::signal(SIGTERM, [](int) { stop_asked = 1; });  // closes as the window's own button does
    FILE* log = options_.frame_log.empty() ? nullptr : std::fopen(options_.frame_log.c_str(), "w");
    int settled = 0;
    while (!glfwWindowShouldClose(window_) && !stop_asked) {
        if (const double rest = rest_before_drawing(settled < 3); rest > 0) glfwWaitEventsTimeout(rest);
        else glfwPollEvents();
        const double began = glfwGetTime(), computed = thread_seconds();
        w_.jobs.settle([&](const Failure& f) { w_.failed(f); });
        if (scale_changed_) rescale();
        draw_frame();
        const double took = (glfwGetTime() - began) * 1000, computing = (thread_seconds() - computed) * 1000;
        glfwSwapBuffers(window_);
        note_drawing_time();
        if (log) write_log(log, took, computing);
        // After an event a few more frames let everything come to rest.
        settled = !ui().keys.empty() || ImGui::GetIO().MouseDelta.x != 0 || ImGui::IsAnyMouseDown() || ImGui::GetIO().MouseWheel != 0 ? 0 : std::min(settled + 1, 3);
    }
    if (log) std::fclose(log);
}

// Each picture is drawn once: where the processor draws every pixel, drawing the same one again takes the time the next one needs.
double Window::rest_before_drawing(bool restless) const {
    constexpr double kMost = 0.05, kNothing = 0.001;
    if (restless || options_.always_draw || clip_desk_.recording()) return 0;
    double rest = w_.jobs.any() ? 0.1 : kIdleWait;
    if (w_.player.playing()) rest = std::min(kMost, w_.player.until_next() - (steady_seconds() - (due_ - drawing_)));
    else if (clip_desk_.preview().moving()) rest = std::min(kMost, clip_desk_.preview().until_next());
    else if (w_.player.decoding()) rest = 0;
    return rest > kNothing ? rest : 0;
}

// How long drawing takes, as a slow average: a single slow frame tells nothing of the next.
void Window::note_drawing_time() {
    constexpr double kWeight = 0.1, kMost = 0.1;
    const double took = steady_seconds() - (due_ - drawing_);
    drawing_ += kWeight * (std::clamp(took, 0.0, kMost) - drawing_);
}

// A line of the log: what docs/benchmarks.md reads out of it.
void Window::write_log(FILE* log, double took, double computing) const {
    constexpr double kNone = -1;
    const auto seconds = [](SessionTime t) { return static_cast<double>(t.ns) / kSecond; };
    const auto shown = pane_.shown_at(w_.view);
    const auto film = clip_desk_.preview().standing();
    std::fprintf(log, "%.3f %.6f %.6f %.6f %.6f %.3f %ld %.6f %d\n", took, steady_seconds(), shown ? seconds(*shown) : kNone, due_, seconds(w_.player.at()), computing, film.frame, film.at, film.rate);
}

void Window::draw_frame() {
    ImGui_ImplOpenGL3_NewFrame();
    ImGui_ImplGlfw_NewFrame();
    ImGui::NewFrame();
    probe().begin_frame();
    ui().keys.begin_frame();
    ui().focus.begin_frame();
    draw_all();
    ImGui::Render();
    Size pixels;
    glfwGetFramebufferSize(window_, &pixels.w, &pixels.h);
    if (probe().wants_all()) screen_.forget();
    screen_.draw(*ImGui::GetDrawData(), pixels, theme().ground);
    probe().end_frame(!w_.player.playing() && !w_.player.decoding() && !w_.jobs.any());
    probe().answer();
}

// The desks read what the session holds whenever it was read again.
void Window::follow_session() {
    w_.refresh();
    if (opened_ != w_.session || read_revision_ != w_.revision()) {
        opened_ = w_.session;
        read_revision_ = w_.revision();
        clip_desk_.read(w_);
        privacy_desk_.read_seen(w_);
        library_desk_.stale();
        read_traces();
    }
    if (w_.at != was_at_) {
        // The reviewer looks at what the public would see; the clinician at what was filmed.
        privacy_desk_.keep(w_);
        if (w_.at == DeskName::privacy || w_.at == DeskName::clip) w_.covers = CoverLook::as_rendered;
        if (w_.at == DeskName::session) w_.covers = CoverLook::outlines;
        if (w_.at == DeskName::library) w_.player.play(false), library_desk_.stale();
        if (w_.at != DeskName::clip) clip_desk_.preview().stop(), clip_desk_.stop_placing();
        pane_.stop_asking(), map_.stop_asking();
        was_at_ = w_.at;
    }
    w_.player.set_public_look(w_.covers == CoverLook::as_rendered);
    const std::string name = w_.session.empty() ? "Canalogue" : "Canalogue \u2013 " + w_.session;
    // Only when it is another: the display tells of every setting, and that would wake the window again.
    if (name != titled_) glfwSetWindowTitle(window_, name.c_str()), titled_ = name;
}

void Window::go_to(DeskName desk) { w_.at = desk; }

// What the gauges measured, as lanes: the three that tell most at a glance.
void Window::read_traces() {
    curves_.clear();
    if (w_.session.empty()) return;
    auto traces = desk::traces(w_.desk, w_.session);
    if (!traces) return;
    const std::pair<const char*, const char*> lanes[] = {{"clarity", "Clarity"}, {"inside", "In the ear"}, {"loudness", "Loudness"}, {"suction", "Suction"}};
    for (const auto& [channel, name] : lanes)
        for (const auto& t : *traces) {
            const Recording* r = t.channel == channel ? w_.view.recording(t.recording) : nullptr;
            if (!r) continue;
            Curve c{name, r->session_time(t.from), t.step, {}};
            for (std::size_t i = 0; i < t.bytes.size(); ++i) c.values.push_back(static_cast<float>(t.value(i).value_or(std::nan(""))));
            curves_.push_back(std::move(c));
        }
}

MapExtras Window::extras() {
    MapExtras out;
    out.curves = curves_;
    out.seen = privacy_desk_.seen();
    if (clip_desk_.plan()) out.plan = clip_desk_.plan(), out.passage = clip_desk_.chosen();
    return out;
}

void Window::draw_all() {
    if (!dropped_files().empty()) {
        // A recording is missed: what is dropped is most likely it; its content tells.
        if (!w_.view.missing.empty()) session_desk_.find_again(w_, dropped_files().front());
        else library_desk_.dropped(dropped_files()), w_.at = DeskName::library;
        dropped_files().clear();
    }
    follow_session();
    // The picture is chosen for when it will be seen, which is some way of drawing off.
    due_ = steady_seconds() + drawing_;
    w_.player.tick(due_, drawing_);
    const ImVec2 size = ImGui::GetIO().DisplaySize;
    ImGui::SetNextWindowPos({0, 0});
    ImGui::SetNextWindowSize(size);
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
    // Its ground is the screen's own.
    ImGui::Begin("all", nullptr, ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoBackground | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoScrollWithMouse);
    ImGui::PopStyleVar();
    if (welcome_.wanted(w_)) {
        welcome_.draw(w_, size);
        ImGui::End();
        return;
    }
    clip_desk_.follow_preview(w_);
    handle_keys();
    const float rail = px(kRail), panel = std::min(px(kPanel), size.x * 0.36f);
    draw_rail({rail, size.y});
    draw_middle({rail, 0}, {size.x - rail - panel, size.y});
    ImGui::SetCursorPos({size.x - panel, 0});
    draw_panel({panel, size.y});
    ImGui::End();
    if (welcome_.touring()) welcome_.draw_tour(w_, size);
    if (keys_shown_) draw_keys();
    privacy_desk_.watch(w_, glfwGetWindowAttrib(window_, GLFW_FOCUSED) != 0);
}

}  // namespace canalogue::editor
