// Where identifiers sit in files: 45 CFR 164.514(b)(2)(i) (names, dates, device numbers, places) and
// the boxes of ISO/IEC 14496-12 that carry them. All names and numbers are invented test values.
#include <algorithm>

#include "tests/plugins/shipped_plugins.hpp"

namespace canalogue::tests {

namespace {

constexpr Nanos kDuration = 65 * kSecond;

std::vector<Proposal> suspects_in(const std::vector<Field>& fields) {
    auto spotter = SpotterProcess::start(shipped_plugin("file_fields"), shipped_options());
    REQUIRE(spotter.ok());
    CHECK(spotter->wants_fields());
    CHECK_FALSE(spotter->wants_frames());
    REQUIRE(spotter->begin_recording({{1280, 720}, kDuration}).ok());
    auto found = spotter->fields(fields);
    if (!found) FAIL(found.failure().sentence);
    return std::move(*found);
}

}  // namespace

TEST_CASE("Every field that can identify somebody is a suspect of its own", "[plugins]") {
    const std::vector<Field> telling{
        {"container: title", "Mrs Pellworm left ear"},
        {"container: artist", "Harbour Ear Clinic"},
        {"container: comment", "TEST-0004417"},
        {"container: creation_time", "2031-03-04T10:11:12.000000Z"},
        {"container: location", "+54.5000+008.6000/"},
        {"container: com.scope.serial", "TEST-SN-99"},
        {"container: encoder", "Lantern Scope 3"},
        {"container: anything-new", "whatever"},
        {"stream 0: handler_name", "Pellworm recorder"},
        {"stream 1: timecode", "10:11:12:05"},
        {"chapter 1: title", "Mrs Pellworm arrives"},
        {"attachment 2: mimetype", "image/jpeg"},
        {"attachment 2: filename", "pellworm.jpg"},
        {"extra stream 3: kind", "data"},
        {"file: name", "pellworm_20310304.mp4"},
        {"folder: name", "Pellworm"},
    };
    const auto found = suspects_in(telling);
    REQUIRE(found.size() == telling.size());
    for (std::size_t i = 0; i < telling.size(); ++i) {
        CAPTURE(telling[i].name);
        CHECK(found[i].kind == SuspectKind::metadata);
        CHECK(found[i].field == telling[i].name);
        CHECK(found[i].words == telling[i].value);
        CHECK(found[i].span == RecordingSpan{{0}, {kDuration}});
        CHECK(found[i].sureness > 0);
    }
}

TEST_CASE("Fields that say only how the file is coded are no suspects", "[plugins]") {
    const std::vector<Field> neutral{
        {"container: major_brand", "isom"},
        {"container: minor_version", "512"},
        {"container: compatible_brands", "isomiso2avc1mp41"},
        {"container: encoder", "Lavf59.27.100"},
        {"container: title", "   "},
        // Zero in the file's own calendar: ISO/IEC 14496-12 counts seconds from 1904-01-01.
        {"container: creation_time", "1904-01-01T00:00:00.000000Z"},
        {"container: creation_time", "1970-01-01T00:00:00.000000Z"},
        {"stream 0: handler_name", "VideoHandler"},
        {"stream 1: handler_name", "SoundHandler"},
        {"stream 0: language", "und"},
        {"stream 0: vendor_id", "[0][0][0][0]"},
        {"stream 0: encoder", "Lavc59.37.100 libx264"},
        {"stream 0: BPS-eng", "2514213"},
        {"chapter 1: title", "Chapter 1"},
        {"file: name", "left_ear_02.mp4"},
        {"folder: name", "Videos"},
        {"folder: name", "home"},
    };
    for (const auto& p : suspects_in(neutral)) UNSCOPED_INFO(p.field << " = " << p.words);
    CHECK(suspects_in(neutral).empty());
}

TEST_CASE("A date or record number in a file's name is a suspect, a counter is not", "[plugins]") {
    CHECK(suspects_in({{"file: name", "ear 20310304.mp4"}}).size() == 1);
    CHECK(suspects_in({{"file: name", "0000004417.mov"}}).size() == 1);
    CHECK(suspects_in({{"file: name", "clip 0007.mov"}}).empty());
    CHECK(suspects_in({{"file: name", ".pellworm"}}).size() == 1);
}

TEST_CASE("A field in another encoding or of any length is still reported", "[plugins]") {
    const auto found = suspects_in({{"container: comment", "M\xFCller \xED\xA0\x80"},  // Latin-1, a surrogate
                                    {"container: description", std::string(100'000, 'x')},
                                    {std::string(1'000, 'y') + ": title", "Pellworm"}});
    REQUIRE(found.size() == 3);
    CHECK(found[0].words.substr(0, 6) == "M?ller");
    CHECK(found[1].words.size() > 4'000);
}

}  // namespace canalogue::tests
