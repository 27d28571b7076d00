// Twenty-five leaks, planted one at a time into an export that is clean: each is caught. (Those that need a session or a
// render are planted by hand here, as a mistake in any part of the program might.)
#include <catch2/catch.hpp>
#include <algorithm>
#include <functional>

#include "export/check.hpp"
#include "tests/export/clean_film.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;

namespace {

const char* const kFont = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf";
const char* const kPlain = "-map_metadata -1 -map_chapters -1 -fflags +bitexact -flags:v +bitexact";
const std::string kName = "Greta Tidewell";

// A clean export: a film, its captions, its manifest and its page.
struct Export {
    Export() {
        fs::create_directories(place);
        fs::copy_file(clean_film(folder), place / "clip.mp4");
        write_file(place / "clip.vtt", "WEBVTT\n\n00:00.000 --> 00:00.300\nThe drum is in view.\n");
        write_file(place / "manifest.json", "{\"canalogue_export\": 1, \"title\": \"Hard wax\"}\n");
        write_file(place / "page.html", "<!doctype html><title>Hard wax</title><img src=\"poster.jpg\" alt=\"An ear's inside\"><p>Watch.</p>\n");
        make_media(place / "poster.jpg", "-f lavfi -i color=0x806050:s=640x360 -frames:v 1 -fflags +bitexact -bitexact");
        strip_comment(place / "poster.jpg");
    }

    static void strip_comment(const fs::path& file) {
        std::string jpeg = read_file(file);
        if (const std::size_t at = jpeg.find("\xFF\xFE"); at != std::string::npos) jpeg.erase(at, 2 + static_cast<std::uint8_t>(jpeg[at + 2]) * 256u + static_cast<std::uint8_t>(jpeg[at + 3]));
        write_file(file, jpeg);
    }

    // The film made anew by ffmpeg; `args` stand between input and output.
    void remake(const std::string& args, const std::string& more_inputs = "") const {
        const fs::path other = folder / "remade.mp4";
        make_media(other, "-i '" + film().string() + "' " + more_inputs + " " + args);
        fs::rename(other, film());
    }
    // With a picture filter, all else clean.
    void draw(const std::string& filter, const std::string& more_inputs = "") const {
        remake("-filter_complex \"" + filter + "\" -c:v libx264 -preset ultrafast -crf 18 -bsf:v filter_units=remove_types=6 -c:a copy " + kPlain, more_inputs);
    }
    void say(const std::string& where, const std::string& look, const std::string& when = "1") const {
        draw("drawtext=fontfile=" + std::string(kFont) + ":text='" + kName + "':" + where + ":" + look + ":enable='" + when + "'");
    }
    void replace(const std::string& name, const std::string& what, const std::string& by) const {
        std::string text = read_file(place / name);
        const std::size_t at = text.find(what);
        REQUIRE(at != std::string::npos);
        write_file(place / name, text.replace(at, what.size(), by));
    }
    fs::path film() const { return place / "clip.mp4"; }

    TempFolder folder;
    fs::path place = folder / "export";
};

std::string box(const std::string& kind, const std::string& body) {
    const auto size = static_cast<std::uint32_t>(body.size() + 8);
    return {std::string{static_cast<char>(size >> 24), static_cast<char>(size >> 16), static_cast<char>(size >> 8), static_cast<char>(size)} + kind + body};
}

void append(const fs::path& file, const std::string& bytes) { write_file(file, read_file(file) + bytes); }

struct Leak {
    const char* name;
    std::function<void(const Export&)> plant;
    const char* needs = nullptr;  // a file without which it cannot be planted; only nets catch it
};

// A chapter list for ffmpeg.
std::string chapters(const Export& e) {
    write_file(e.folder / "chapters.txt", ";FFMETADATA1\n[CHAPTER]\nTIMEBASE=1/1000\nSTART=0\nEND=1000\ntitle=" + kName + "\n");
    return "-i '" + (e.folder / "chapters.txt").string() + "'";
}

const std::vector<Leak> kLeaks{
    {"tag", [](const Export& e) { e.remake("-c copy -map_chapters -1 -metadata title=\"" + kName + "\""); }},
    {"chapter", [](const Export& e) { e.remake("-c copy -map 0 -map_metadata -1 -map_chapters 1", chapters(e)); }},
    {"handler name", [](const Export& e) { e.remake("-c copy -map_metadata -1 -map_chapters -1 -metadata:s:v handler_name=\"" + kName + "\""); }},
    {"cover art", [](const Export& e) { e.remake("-map 0:v -map 0:a -map 1 -c copy -map_metadata -1 -map_chapters -1 -disposition:v:1 attached_pic", "-i '" + (e.place / "poster.jpg").string() + "'"); }},
    {"note in the picture stream", [](const Export& e) { e.remake("-c copy " + std::string(kPlain) + " -bsf:v h264_metadata=sei_user_data=086f3693-b7b3-4f2c-9653-21492feee5b8+Tidewell"); }},
    {"head hidden by an edit list",
     [](const Export& e) {
         e.say("x=400:y=300", "fontsize=48:fontcolor=white", "lt(n,20)");
         e.remake("-c copy " + std::string(kPlain));
         const fs::path other = e.folder / "cut.mp4";
         make_media(other, "-ss 0.9 -i '" + e.film().string() + "' -c copy " + kPlain);
         fs::rename(other, e.film());
     }},
    {"trailing bytes", [](const Export& e) { append(e.film(), "made for " + kName); }},
    {"box of unknown use", [](const Export& e) { append(e.film(), box("uuid", std::string(16, '\x11') + kName)); }},
    {"extra stream", [](const Export& e) { e.remake("-map 0 -map 0:a -c copy " + std::string(kPlain)); }},
    {"flash of two frames", [](const Export& e) { e.say("x=400:y=300", "fontsize=48:fontcolor=white", "between(n,31,32)"); }},
    {"faint text in a corner", [](const Export& e) { e.say("x=1130:y=690", "fontsize=18:fontcolor=white@0.35"); }},
    {"moving text", [](const Export& e) { e.say("x=100+8*n:y=300", "fontsize=44:fontcolor=white"); }},
    {"face as in a reflection", [](const Export& e) { e.draw("[1]crop=200:260:190:40,scale=-1:420,hflip,format=rgba,colorchannelmixer=aa=0.7[f];[0][f]overlay=x=500:y=200:enable='between(t,.6,1.6)'", "-i /usr/share/doc/opencv-doc/examples/data/messi5.jpg"); },
     "/usr/share/doc/opencv-doc/examples/data/messi5.jpg"},
    {"still", [](const Export& e) { make_media(e.place / "still-1.png", "-f lavfi -i color=0x806050:s=1280x720 -frames:v 1 -vf \"drawtext=fontfile=" + std::string(kFont) + ":text='" + kName + "':x=300:y=300:fontsize=60:fontcolor=white\" -bitexact"); }},
    {"poster", [](const Export& e) { make_media(e.place / "poster.jpg", "-f lavfi -i color=0x806050:s=1280x720 -frames:v 1 -vf \"drawtext=fontfile=" + std::string(kFont) + ":text='" + kName + "':x=300:y=300:fontsize=60:fontcolor=white\""); Export::strip_comment(e.place / "poster.jpg"); }},
    {"caption", [](const Export& e) { e.replace("clip.vtt", "The drum", "Greta Tidewells drum"); }},
    {"chapter title on the page", [](const Export& e) { write_file(e.place / "clip.chapters.vtt", "WEBVTT\n\n00:00.000 --> 00:01.000\nGreta's ear, Tidewell\n"); }},
    {"label", [](const Export& e) { e.draw("drawtext=fontfile=" + std::string(kFont) + ":text='Tidewell G, right':x=60:y=60:fontsize=30:fontcolor=white:box=1:boxcolor=black"); }},
    {"alternative text", [](const Export& e) { e.replace("page.html", "An ear's inside", "Ear of Greta Tidewell"); }},
    {"note in a PDF", [](const Export& e) { write_file(e.place / "handout.pdf", "%PDF-1.4\n1 0 obj << /Author (R. Quayle-Test) >> endobj\n%%EOF\n"); }},
    {"note in a JPEG", [](const Export& e) { const std::string jpeg = read_file(e.place / "poster.jpg"); write_file(e.place / "poster.jpg", jpeg.substr(0, 2) + std::string("\xFF\xFE\x00\x07scope", 9) + jpeg.substr(2)); }},
    {"second of speech", [](const Export& e) { e.remake("-map 0:v -map 1:a -c:v copy -c:a aac -b:a 128k -shortest " + std::string(kPlain), "-f lavfi -i \"aevalsrc=0:d=1[z];amovie=/usr/share/pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0870.wav,atrim=1:3,asetpts=PTS-STARTPTS[s];[z][s]concat=n=2:v=0:a=1,aresample=48000\""); },
     "/usr/share/pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-0870.wav"},
    // Said by an independent synthesiser; the captions say that somebody speaks.
    {"take with a spoken name", [](const Export& e) {
         run("flite -voice rms -t 'The canal of missus Greta Tidewell is clear.' -o '" + (e.folder / "take.wav").string() + "'");
         e.remake("-map 0:v -map 1:a -c:v copy -c:a aac -b:a 128k " + std::string(kPlain), "-i '" + (e.folder / "take.wav").string() + "'");
     }},
    {"file name", [](const Export& e) { fs::rename(e.film(), e.place / "Tidewell G right.mp4"); }},
    {"field of the manifest", [](const Export& e) { e.replace("manifest.json", "Hard wax", "Hard wax of G. Tidewell"); }},
    {"source of the page", [](const Export& e) { e.replace("page.html", "<p>", "<!-- Tidewell, Greta -->\n<p>"); }},
};

CheckReport report_of(const Export& e, bool with_nets = false) {
    static const auto catalog = PluginCatalog::read({CANALOGUE_SHIPPED_PLUGINS});
    CheckOptions options;
    if (with_nets) options.face_spotter = catalog.find("faces"), options.speech_spotter = catalog.find("speech");
    options.host.runner = CANALOGUE_RUNNER;
    options.known_identifiers = {kName, "Tidewell"};
    auto report = check_export(e.place, options, {});
    REQUIRE(report.ok());
    return *report;
}

}  // namespace

TEST_CASE("Each of twenty-six leaks is caught when it is the only one", "[slow]") {
    REQUIRE(kLeaks.size() == 26);
    {
        const Export clean;
        const auto report = report_of(clean);
        INFO(report_table(report));
        REQUIRE(report.passed());
    }
    for (const auto& leak : kLeaks) {
        if (leak.needs && !fs::exists(leak.needs)) {
            std::fprintf(stderr, "*** not planted, %s is missing: %s ***\n", leak.needs, leak.name);
            continue;
        }
        const Export e;
        leak.plant(e);
        const auto report = report_of(e, leak.needs != nullptr);
        const bool blind = leak.needs && std::any_of(report.looks.begin(), report.looks.end(), [](const CheckLook& l) { return l.name != "Text in pictures" && l.outcome == CheckLook::Outcome::not_done; });
        if (blind) {
            std::fprintf(stderr, "*** not looked for, the models are missing: %s ***\n", leak.name);
            continue;
        }
        INFO(leak.name << "\n" << report_table(report));
        CHECK_FALSE(report.passed());
    }
}
