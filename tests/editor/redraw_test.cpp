#include <catch2/catch.hpp>

#include <functional>

#include "app/editor/redraw.hpp"
#include "tests/cli/program.hpp"
#include "tests/editor/real_window.hpp"

using namespace canalogue;
using namespace canalogue::editor;
using namespace canalogue::test;

namespace {

// ImGui without a display: what it would have drawn.
struct Drawing {
    Drawing() {
        ImGui::CreateContext();
        ImGui::GetIO().IniFilename = nullptr;
        unsigned char* pixels = nullptr;
        int w = 0, h = 0;
        ImGui::GetIO().Fonts->GetTexDataAsRGBA32(&pixels, &w, &h);
    }
    ~Drawing() { ImGui::DestroyContext(); }

    std::vector<Part> changed(const std::function<void(ImDrawList&)>& draw, ImVec2 size = {640, 320}) {
        ImGui::GetIO().DisplaySize = size;
        ImGui::NewFrame();
        draw(*ImGui::GetBackgroundDrawList());
        ImGui::Render();
        return redraw.changed(*ImGui::GetDrawData());
    }

    Redraw redraw;
};

bool inside(const std::vector<Part>& parts, float x, float y) {
    for (const auto& p : parts)
        if (x >= p.a.x && x < p.b.x && y >= p.a.y && y < p.b.y) return true;
    return false;
}

ImTextureID texture(unsigned name) { return reinterpret_cast<ImTextureID>(static_cast<std::uintptr_t>(name)); }

}  // namespace

TEST_CASE("Of the window only what looks different is drawn again, where it was and where it is") {
    Drawing d;
    const auto scene = [](float x, ImU32 c) {
        return [=](ImDrawList& l) {
            l.AddRectFilled({0, 0}, {640, 320}, IM_COL32(20, 38, 44, 255));
            l.AddRectFilled({x, 100}, {x + 20, 120}, c);
        };
    };
    const ImU32 red = IM_COL32(200, 0, 0, 255);
    CHECK(d.changed(scene(40, red)) == std::vector<Part>{{{0, 0}, {640, 320}}});
    CHECK(d.changed(scene(40, red)).empty());
    const auto moved = d.changed(scene(500, red));
    CHECK(inside(moved, 45, 110));
    CHECK(inside(moved, 515, 110));
    CHECK_FALSE(inside(moved, 300, 110));
    CHECK_FALSE(inside(moved, 45, 250));
    const auto coloured = d.changed(scene(500, IM_COL32(0, 200, 0, 255)));
    CHECK(inside(coloured, 515, 110));
    CHECK_FALSE(inside(coloured, 45, 110));
}

TEST_CASE("A texture with another image is drawn again though nothing of the window's layout changed") {
    Drawing d;
    const auto scene = [](ImDrawList& l) { l.AddImage(texture(7), {64, 64}, {128, 128}); };
    d.changed(scene);
    CHECK(d.changed(scene).empty());
    contents_changed(7);
    CHECK(inside(d.changed(scene), 100, 100));
    CHECK(d.changed(scene).empty());
}

TEST_CASE("What is behind something, clipped away or in another order counts as it is drawn") {
    Drawing d;
    const auto two = [](bool other_order, float clip) {
        return [=](ImDrawList& l) {
            l.PushClipRect({0, 0}, {clip, 320});
            for (int i = 0; i < 2; ++i) l.AddRectFilled({320, 160}, {352, 192}, (i == 1) == other_order ? IM_COL32(1, 2, 3, 255) : IM_COL32(9, 9, 9, 255));
            l.AddRectFilled({600, 10}, {620, 30}, IM_COL32(5, 5, 5, 255));
            l.PopClipRect();
        };
    };
    d.changed(two(false, 640));
    CHECK(inside(d.changed(two(true, 640)), 330, 170));
    const auto clipped = d.changed(two(true, 590));
    CHECK(inside(clipped, 610, 20));
}

TEST_CASE("Changes all over the window become few parts that hold them all and do not overlap") {
    Drawing d;
    const auto scatter = [](ImU32 c) {
        return [=](ImDrawList& l) {
            for (int i = 0; i < 40; ++i) {
                const float x = static_cast<float>(i * 137 % 620), y = static_cast<float>(i * 71 % 300);
                l.AddRectFilled({x, y}, {x + 8, y + 8}, c);
            }
        };
    };
    d.changed(scatter(IM_COL32(1, 1, 1, 255)));
    const auto parts = d.changed(scatter(IM_COL32(2, 2, 2, 255)));
    CHECK(parts.size() <= 6);
    for (int i = 0; i < 40; ++i) CHECK(inside(parts, static_cast<float>(i * 137 % 620 + 4), static_cast<float>(i * 71 % 300 + 4)));
    for (std::size_t i = 0; i < parts.size(); ++i)
        for (std::size_t j = i + 1; j < parts.size(); ++j)
            CHECK_FALSE((parts[i].a.x < parts[j].b.x && parts[j].a.x < parts[i].b.x && parts[i].a.y < parts[j].b.y && parts[j].a.y < parts[i].b.y));
}

TEST_CASE("A window of another size, and one that is told to forget, are drawn whole") {
    Drawing d;
    const auto scene = [](ImDrawList& l) { l.AddRectFilled({0, 0}, {100, 100}, IM_COL32(1, 1, 1, 255)); };
    d.changed(scene);
    CHECK(d.changed(scene, {700, 320}) == std::vector<Part>{{{0, 0}, {700, 320}}});
    CHECK(d.changed(scene, {700, 320}).empty());
    d.redraw.forget();
    CHECK(d.changed(scene, {700, 320}) == std::vector<Part>{{{0, 0}, {700, 320}}});
}

TEST_CASE("Whatever is done in the window, it looks as if all of it had been drawn anew") {
    TempFolder folder;
    const Program program(folder / "library");
    program.done("import --session s1 --ear right '" + draw_recording(folder / "right.mkv", {}).string() + "'");
    program.done("tag s1 drum-visible --at 5");
    write_file(folder / "library/settings.json", R"({"author":"N. Example","clinic":"Harbour Ear Clinic","toured":true})");
    write_file(folder / "plan.json", R"({"canalogue_plan":1,"title":"Short","items":[
        {"card":"title","title":"One","length":"0:02"},{"recording":"r1","ear":"right","from":"0:01","until":"0:05"}]})");
    program.done("plan s1 --check '" + (folder / "plan.json").string() + "' --keep");
    const VirtualDisplay display;
    EditorWindow window(display, program.library(), "s1");
    window.wait_idle();
    const auto as_if_anew = [&](const std::string& what) {
        window.wait_idle();
        // Until nothing comes in any more (a thumbnail, a measured voice): that is news, not what was left standing.
        std::string before;
        for (int i = 0; i < 20; ++i) {
            window.picture_of_window(folder / "kept.png");
            if (before == read_file(folder / "kept.png")) break;
            before = read_file(folder / "kept.png");
        }
        window.ask("all");
        window.ask("frames");  // wakes it for a frame
        window.picture_of_window(folder / "anew.png");
        INFO(what);
        const bool same = read_file(folder / "kept.png") == read_file(folder / "anew.png");
        CHECK(same);
    };
    as_if_anew("the Session desk");
    window.key("space");
    window.key("space");
    as_if_anew("having played");
    window.key("End");
    as_if_anew("at the end");
    window.key("F1");
    as_if_anew("with the list of keys");
    window.key("Escape");
    as_if_anew("without it");
    for (const char* desk : {"F3", "F4", "F5", "F2"}) {
        window.key(desk);
        as_if_anew(std::string("at ") + desk);
    }
    window.click("look Covered");
    as_if_anew("covered");
    window.click("theme");
    as_if_anew("in the other look");
    window.key("ctrl+plus");
    as_if_anew("larger");
    window.key("F4");
    window.click("item 1");
    as_if_anew("with a passage chosen");
}
