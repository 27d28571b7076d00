// canalogue-editor: the window. 'canalogue edit' starts it.
#include <CLI/CLI.hpp>

#include <cstdlib>
#include <iostream>

#include "app/editor/window.hpp"

int main(int argc, char** argv) {
    using namespace canalogue;
    CLI::App app{"Canalogue's window: annotate, decide, tell, file.\nIt teaches and documents; it does not diagnose. Detectors miss things: a person must review."};
    editor::WindowOptions options;
    std::string library, person;
    app.add_option("SESSION", options.session, "Open this session");
    app.add_option("--library", library, "The library's folder (otherwise the data folder of your account)")->type_name("DIR");
    app.add_option("--by", person, "Who is working (otherwise the name given at the first start)")->type_name("NAME");
    app.add_option("--window", options.place, "The window's size, such as 1366x768")->type_name("WxH");
    app.add_option("--scale", options.scale, "Size of everything, 1 to 3 (otherwise the monitor's)")->type_name("FACTOR");
    app.add_option("--probe", options.probe, "For tests: tell where widgets are on this socket")->type_name("SOCKET")->group("");
    app.add_flag("--always-draw", options.always_draw, "For benchmarks: draw without waiting")->group("");
    app.add_option("--frame-log", options.frame_log, "For benchmarks: milliseconds of each frame")->type_name("FILE")->group("");
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& e) {
        return app.exit(e) == 0 ? 0 : 2;
    }
    auto desk = desk::Desk::open(library.empty() ? desk::Desk::usual_library() : std::filesystem::path(library), person);
    Result<void> done = desk ? Result<void>{} : Result<void>(desk.failure());
    if (desk) done = editor::Window(*desk, options).run();
    if (done) return 0;
    std::cerr << "canalogue: " << done.failure().sentence << "\n";
    return static_cast<int>(done.failure().trouble);
}
