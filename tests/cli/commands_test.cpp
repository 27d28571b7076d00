#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"

using namespace canalogue::test;

TEST_CASE("Exit codes and sentences: wrong use 2, bad media 3, refused 4") {
    Program p;
    const auto film = lossless_session(p.folder / "a.mkv", "", 900, "");
    write_file(p.folder / "noise.mp4", std::string(4000, 'n'));
    CHECK(p.attempt("import --session s1 --ear right " + quoted(p.folder / "noise.mp4")).code == 3);
    CHECK(p.attempt("import --session 'Mr Brackwater' --ear right " + quoted(film)).code == 2);
    CHECK(p.attempt("import --session s1 --ear middle " + quoted(film)).code == 2);
    p("import --session s1 --ear right " + quoted(film));
    CHECK(p.attempt("tag s1 drum-visibel --at 2").code == 2);
    CHECK(p.attempt("tag s1 drum-visibel --at 2").out.find("drum-visible") != std::string::npos);
    CHECK(p.attempt("tag s1 drum-visible --at 99").code == 2);
    CHECK(p.attempt("tag s1 drum-visible --at nine").code == 2);
    CHECK(p.attempt("show nobody").code == 2);
    CHECK(p.attempt("render s1 --plan nowhere.json --out o").code == 2);
    p("tag s1 drum-visible --at 2");
    p("plan s1 --draft -o " + quoted(p.folder / "plan.json"));
    const Ran refused = p.attempt("render s1 --plan " + quoted(p.folder / "plan.json") + " --out " + quoted(p.folder / "o") + " --audience care");
    CHECK(refused.code == 4);
    CHECK(refused.out.find("--reason") != std::string::npos);
    CHECK_FALSE(fs::exists(p.folder / "o"));
}

TEST_CASE("A clock position that belongs to the other ear brings a warning, not a refusal") {
    Program p;
    p("import --session s1 --ear right " + quoted(lossless_session(p.folder / "a.mkv", "", 900, "")));
    const json wrong = p.parsed("tag s1 drum-visible --at 2 --set clock=7 --json"), right = p.parsed("tag s1 drum-visible --at 3 --set clock=5 --json");
    CHECK(wrong["warnings"].size() == 1);
    CHECK(right["warnings"].empty());
}

TEST_CASE("A side is exchanged for a span, events included, in one act that is undone in one") {
    Program p;
    p("import --session s1 --ear right " + quoted(lossless_session(p.folder / "a.mkv", "", 900, "")));
    p("tag s1 drum-visible --at 1");
    p("tag s1 canal-clear --at 5");
    p("side s1 --from 0 --until 3 --swap");
    auto ears = [&] {
        std::string out;
        for (const auto& e : p.parsed("events s1 --json")) out += e["ear"].get<std::string>() + " ";
        return out;
    };
    CHECK(ears() == "left right ");
    p("undo s1");
    CHECK(ears() == "right right ");
    p("redo s1");
    CHECK(ears() == "left right ");
    CHECK(p.attempt("redo s1").code == 2);
    CHECK(p("selfcheck").find("the chain holds") != std::string::npos);
}

TEST_CASE("The suspects list has the fields that programs read") {
    Program p;
    p("import --session s1 --ear right " + quoted(lossless_session(p.folder / "Brackwater.mkv", "BRACKWATER ALDOUS", 900, "Brackwater")));
    p("scan s1");
    const auto list = p.parsed("suspects s1 --json");
    bool text = false, metadata = false;
    for (const auto& s : list) {
        for (const char* field : {"id", "kind", "recording", "start", "end", "track", "sureness", "spotter", "decision"}) CHECK(s.contains(field));
        metadata = metadata || s["kind"] == "metadata";
        if (s["kind"] != "text") continue;
        text = true;
        const auto& point = s["track"][0];
        for (const char* field : {"t", "x", "y", "w", "h"}) CHECK(point.contains(field));
        // The burnt-in line: about 40,40 to 440,88.
        CHECK(point["x"].get<int>() <= 52);
        CHECK(point["y"].get<int>() <= 52);
        CHECK(s["start"].get<double>() <= 1.0);
        CHECK(s["end"].get<double>() >= 5.0);
    }
    CHECK(text);
    CHECK(metadata);
    CHECK(p("scan s1").find("0 new suspects") == 0);  // what was scanned costs nothing again
}

TEST_CASE("One file that holds two patients is split: the rest cannot be reached from a session") {
    Program p;
    const auto film = lossless_session(p.folder / "a.mkv", "", 900, "");
    p("import --session first --ear right --until 3 " + quoted(film));
    p("import --session second --ear left --from 3 " + quoted(film));
    p("tag first canal-clear --at 2.5");
    CHECK(p.attempt("tag first canal-clear --at 3.5").code == 2);
    CHECK(p.parsed("show second --json")["recordings"][0]["from"] == 3.0);
    p("tag second canal-clear --at 1");  // session time begins where its span does
    p("plan first --draft -o " + quoted(p.folder / "plan.json"));
    json plan = json::parse(read_file(p.folder / "plan.json"));
    for (auto& item : plan["items"])
        if (item.contains("until")) item["until"] = "5";
    write_file(p.folder / "plan.json", plan.dump());
    CHECK(p.attempt("render first --plan " + quoted(p.folder / "plan.json") + " --out " + quoted(p.folder / "o")).code == 2);
}

TEST_CASE("The same content is recognised when it is imported again") {
    Program p;
    const auto film = lossless_session(p.folder / "a.mkv", "", 900, "");
    fs::copy_file(film, p.folder / "copy.mkv");
    p("import --session s1 --ear right " + quoted(film));
    CHECK(p.parsed("import --session s1 --ear right --json " + quoted(p.folder / "copy.mkv"))[0]["already_in"] == "s1");
    CHECK(p.parsed("show s1 --json")["recordings"].size() == 1);
}

TEST_CASE("Check finds a planted date, number and tag, and ends with 4") {
    Program p;
    const auto film = make_media(p.folder / "leaky.mp4", "-f lavfi -i color=c=0x803030:size=640x360:rate=25:duration=3 -vf "
        "\"drawtext=text='NHS 999 000 0018  14/03/1951':x=40:y=160:fontsize=28:fontcolor=white:fontfile=/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf\" "
        "-c:v libx264 -preset fast -pix_fmt yuv420p -metadata title='Brackwater'");
    const Ran ran = try_run(p.command("check --json " + quoted(film)) + " 2>/dev/null");
    CHECK(ran.code == 4);
    const json report = json::parse(ran.out);
    auto found = [&](const std::string& look) {
        for (const auto& l : report["looks"])
            if (l["look"] == look) return l["outcome"] == "finding";
        return false;
    };
    CHECK(found("Tags and streams"));
    CHECK(found("Notes inside pictures"));
    CHECK(found("Text in pictures"));
    CHECK(found("Text in pictures, again"));
}

TEST_CASE("Every command shows an example") {
    Program p;
    for (const char* name : {"import", "show", "tag", "events", "scan", "suspects", "decide", "cover", "plan", "render", "check", "known", "vocab", "plugins", "selfcheck", "demo"}) {
        const Ran help = try_run("'" + p.path() + "' " + name + " --help");
        CAPTURE(name);
        CHECK(help.code == 0);
        CHECK(help.out.find("Example:") != std::string::npos);
    }
}
