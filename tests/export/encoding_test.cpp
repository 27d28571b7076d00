// What films are encoded for, held against the ffprobe and ffmpeg programs.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include <cmath>
#include <cstring>

#include "export/check_parts.hpp"
#include "export/message_rate.hpp"
#include "tests/export/small_clip.hpp"

using namespace canalogue;
using namespace canalogue::film;
using namespace canalogue::test;
using nlohmann::json;

namespace {

json probed(const fs::path& film, const std::string& what) { return json::parse(run("ffprobe -v error -of json " + what + " '" + film.string() + "'")); }

// Seconds at which pictures of a film begin to be bright, and its sound to be loud.
std::vector<double> flashes_of(const fs::path& film) {
    const std::string told = run("ffmpeg -nostdin -hide_banner -v error -i '" + film.string() + "' -vf \"crop=200:200,signalstats,metadata=print:file=-\" -f null - 2>/dev/null");
    std::vector<double> out;
    double time = 0;
    bool bright = false;
    for (std::size_t at = 0; at < told.size();) {
        const std::size_t end = std::min(told.find('\n', at), told.size());
        const std::string line = told.substr(at, end - at);
        if (const auto p = line.find("pts_time:"); p != std::string::npos) time = std::stod(line.substr(p + 9));
        if (const auto p = line.find("YAVG="); p != std::string::npos) {
            const bool now = std::stod(line.substr(p + 5)) > 130;
            if (now && !bright) out.push_back(time);
            bright = now;
        }
        at = end + 1;
    }
    return out;
}

std::vector<double> beeps_of(const fs::path& film, const fs::path& raw) {
    run("ffmpeg -nostdin -v error -y -i '" + film.string() + "' -af aresample=async=1:first_pts=0 -ac 1 -ar 48000 -f f32le '" + raw.string() + "'");
    const std::string bytes = read_file(raw);
    std::vector<float> sound(bytes.size() / sizeof(float));
    std::memcpy(sound.data(), bytes.data(), sound.size() * sizeof(float));
    float loudest = 0;
    for (const float v : sound) loudest = std::max(loudest, std::abs(v));
    std::vector<double> out;
    for (std::size_t i = 0; i < sound.size(); ++i)
        if (std::abs(sound[i]) > 0.3f * loudest && (out.empty() || static_cast<double>(i) / 48000 - out.back() > 0.3)) out.push_back(static_cast<double>(i) / 48000);
    return out;
}

SmallClip flashing(const TempFolder& folder) {
    SmallClip clip(folder, "-f lavfi -i \"color=c=black:s=640x360:r=25:d=14,drawbox=t=fill:color=white:enable='lt(mod(t,1),0.07)'\" "
                           "-f lavfi -i \"aevalsrc='0.5*sin(2*PI*1000*t)*lt(mod(t,1),0.08)':s=48000:d=14\" -c:v ffv1 -c:a flac");
    clip.plan.film.original_sound = true;
    return clip;
}

}  // namespace

TEST_CASE("Picture and sound stay within 20 ms of each other through changes of pace") {
    for (const FilmFormat format : {FilmFormat::mp4, FilmFormat::webm}) {
        TempFolder folder;
        SmallClip clip = flashing(folder);
        clip.plan.film.format = format;
        clip.card(0.7, "Before");
        clip.passage(0.52, 3.52);
        clip.passage(3.52, 5.52, 2.7);
        clip.passage(5.52, 8.52).holds = {{at(7.2), s(1.3)}};
        clip.passage(8.52, 9.52, 0.6);
        clip.passage(9.52, 13.52);
        const fs::path film = folder / film_name(format);
        clip.bytes(film);
        const auto flashes = flashes_of(film), beeps = beeps_of(film, folder / "raw");
        // At 1, 2 and 3 s; 6, 7 and 8 s; 10 to 13 s of the recording.
        REQUIRE(beeps.size() == 10);
        REQUIRE(flashes.size() > beeps.size());  // they are seen at other paces, too
        double worst = 0;
        for (const double beep : beeps) {
            double nearest = 1e9;
            for (const double flash : flashes)
                if (std::abs(flash - beep) < std::abs(nearest)) nearest = flash - beep;
            worst = std::max(worst, std::abs(nearest));
        }
        INFO(film_name(format) << ": worst " << worst * 1000 << " ms");
        CHECK(worst < 0.020);
    }
}

TEST_CASE("Each format says its colours, seeks within two seconds and plays in players: by ffprobe") {
    for (const FilmFormat format : {FilmFormat::mp4, FilmFormat::webm})
        for (const FilmTarget target : {FilmTarget::web, FilmTarget::master}) {
            TempFolder folder;
            SmallClip clip = flashing(folder);
            clip.plan.film.format = format, clip.plan.film.target = target;
            clip.passage(0, 2.5).chapter = "One";
            const fs::path film = folder / film_name(format);
            clip.bytes(film);
            const json all = probed(film, "-show_streams -show_format -show_chapters");
            const json& picture = all["streams"][0];
            CHECK(picture["codec_name"] == (format == FilmFormat::mp4 ? "h264" : "vp9"));
            CHECK(picture["profile"] == (format == FilmFormat::mp4 ? "High" : "Profile 0"));
            CHECK(picture["pix_fmt"] == "yuv420p");
            for (const char* what : {"color_space", "color_transfer", "color_primaries"}) CHECK(picture[what] == "bt709");
            CHECK(picture["color_range"] == "tv");
            CHECK(all["streams"][1]["codec_name"] == (format == FilmFormat::mp4 ? "aac" : "opus"));
            CHECK(all["chapters"].size() == 1);
            double last = 0, longest = 0;
            const json packets = probed(film, "-select_streams v -show_entries packet=pts_time,flags");
            for (const auto& packet : packets["packets"]) {
                if (packet["flags"].get<std::string>().find('K') == std::string::npos) continue;
                const double time = std::stod(packet["pts_time"].get<std::string>());
                longest = std::max(longest, time - last);
                last = time;
            }
            CHECK(last > 0);
            CHECK(longest <= 2.0);
        }
}

TEST_CASE("A WebM film says nothing that the film does not need, and tags that somebody adds are found") {
    TempFolder folder;
    SmallClip clip = flashing(folder);
    clip.plan.film.format = FilmFormat::webm;
    clip.passage(0, 1).chapter = "One";
    const fs::path film = folder / "clip.webm";
    clip.bytes(film);
    const CheckLook look = look_at_tags(film);
    for (const auto& place : look.places) UNSCOPED_INFO(place.what << ": " << place.where);
    CHECK(look.outcome == CheckLook::Outcome::clean);
    CHECK(read_file(film).find("Lavf5") == std::string::npos);  // no version of the writer
    for (const char* planted : {"-metadata title='HARBOUR 48213'", "-metadata:s:v:0 title=HARBOUR", "-metadata comment=x"}) {
        run("ffmpeg -nostdin -v error -y -i '" + film.string() + "' -c copy -fflags +bitexact " + planted + " '" + (folder / "planted.webm").string() + "'");
        INFO(planted);
        CHECK(look_at_tags(folder / "planted.webm").outcome == CheckLook::Outcome::finding);
    }
    // An attachment beside picture and sound (WebM knows none, its sister format does).
    write_file(folder / "letter.txt", "Dear Mrs Brackwater");
    run("ffmpeg -nostdin -v error -y -i '" + film.string() + "' -c copy -fflags +bitexact -attach '" + (folder / "letter.txt").string() + "' -metadata:s:t mimetype=text/plain '" + (folder / "planted.mkv").string() + "'");
    CHECK(look_at_tags(folder / "planted.mkv").outcome == CheckLook::Outcome::finding);
}

TEST_CASE("A master loses less than a film for the web") {
    TempFolder folder;
    SmallClip clip(folder, kMovingPicture);
    clip.passage(0, 1);
    const auto web = clip.bytes(folder / "web.mp4").size();
    clip.plan.film.target = FilmTarget::master;
    CHECK(clip.bytes(folder / "master.mp4").size() > web * 5 / 4);
}

TEST_CASE("A message uses most of its megabytes when it needs them, fewer when not, and never more") {
    TempFolder folder;
    for (const FilmFormat format : {FilmFormat::mp4, FilmFormat::webm}) {
        SmallClip noisy(folder, "-f lavfi -i \"testsrc2=s=640x360:r=25:d=1,noise=alls=60:allf=t\" -f lavfi -i sine=440:d=1 -c:v libx264 -preset ultrafast -crf 10 -c:a flac");
        noisy.plan.film.target = FilmTarget::message, noisy.plan.film.format = format, noisy.plan.film.original_sound = true;
        noisy.plan.film.megabytes = 0.3, noisy.plan.film.size = {720, 720};
        noisy.passage(0, 1);
        const fs::path film = folder / film_name(format);
        const auto bytes = static_cast<double>(noisy.bytes(film).size());
        INFO(film_name(format) << " has " << bytes << " bytes");
        CHECK(bytes <= 0.3e6);
        CHECK(bytes >= 0.85 * 0.3e6);
        CHECK_FALSE(fs::exists(folder / ".passes"));
        // The head fits the pictures: a player has nothing to complain of.
        run("ffmpeg -v error -i '" + film.string() + "' -f null - 2> '" + (folder / "complaints").string() + "'");
        CHECK(read_file(folder / "complaints") == "");
        if (format == FilmFormat::webm) continue;
        const bool same = noisy.bytes(folder / "again") == read_file(film);
        CHECK(same);
    }
    SmallClip plain(folder, "-f lavfi -i color=gray:s=640x360:r=25:d=1 -c:v libx264 -preset ultrafast");
    plain.plan.film.target = FilmTarget::message;
    plain.passage(0, 1);
    CHECK(plain.bytes(folder / "plain.mp4").size() < 1'000'000);
}

TEST_CASE("A film that is too long for its megabytes is refused, and what would do is said") {
    FilmSettings film;
    film.target = FilmTarget::message, film.megabytes = 2;
    const MessageRate rate(film, 300 * kSecond, true);
    const auto possible = rate.possible();
    REQUIRE_FALSE(possible.ok());
    CHECK(possible.failure().trouble == Trouble::wrong_use);
    INFO(possible.failure().sentence);
    // 300 s of 100 kbit/s, of sound at 96 kbit/s and of the container: a little more than 7.5 million bytes.
    CHECK(possible.failure().sentence.find("at least 7.") != std::string::npos);
    film.megabytes = 8;
    CHECK(MessageRate(film, 300 * kSecond, true).possible().ok());
    CHECK(MessageRate(film, 300 * kSecond, true).bits_per_second() >= MessageRate::kLeast);
}
