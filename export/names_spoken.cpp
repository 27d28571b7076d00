#include "export/names_spoken.hpp"

#include <pocketsphinx.h>
#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <tuple>

namespace canalogue::film {

namespace {

constexpr int kFewestPhones = 5;             // of a name heard alone
constexpr std::size_t kPart = 60 * kListenRate;    // of a long sound at once, in samples
constexpr std::size_t kOverlap = 4 * kListenRate;  // a phrase at a part's end is whole in the next
constexpr Nanos kHeardOver = 4 * kSecond;
constexpr Nanos kRead = 60 * kSecond;              // of a file at once

// A phrase: the shorter it sounds, the more of it must be there. Measured with 20 phrases said by three synthesised
// voices (58 of 60 heard) and 25 minutes of telephone prompts in which 16 people's names and numbers are not said
// (about one false in an hour for each).
double level_of_phrase(int phones) { return -20 + 2 * std::max(0, 10 - phones); }

// A single name: a level that falls with its length (measured on read speech: 9 of 10 heard, 7.6 false an hour).
double level_of_name(int phones) { return 8 - 2 * phones; }

// A file without a name and without a disk: the recogniser takes its phrases from a path only.
class MemoryFile {
  public:
    explicit MemoryFile(const std::string& text) : fd_(memfd_create("phrases", MFD_CLOEXEC)) {
        good_ = fd_ >= 0 && write(fd_, text.data(), text.size()) == static_cast<ssize_t>(text.size());
    }
    ~MemoryFile() {
        if (fd_ >= 0) close(fd_);
    }
    MemoryFile(const MemoryFile&) = delete;
    MemoryFile& operator=(const MemoryFile&) = delete;
    bool good() const { return good_; }
    std::string path() const { return "/proc/self/fd/" + std::to_string(fd_); }

  private:
    int fd_;
    bool good_ = false;
};

// Several forms of a name are heard in the same words.
std::vector<NameSpoken> one_per_moment(std::vector<NameSpoken> hits) {
    std::sort(hits.begin(), hits.end(), [](const NameSpoken& a, const NameSpoken& b) { return std::tie(a.name, a.start) < std::tie(b.name, b.start); });
    std::vector<NameSpoken> out;
    for (const auto& hit : hits) {
        if (out.empty() || out.back().name != hit.name || hit.start >= out.back().end) {
            out.push_back(hit);
            continue;
        }
        out.back().end = std::max(out.back().end, hit.end);
        out.back().surely = out.back().surely || hit.surely;
    }
    std::sort(out.begin(), out.end(), [](const NameSpoken& a, const NameSpoken& b) { return std::tie(a.start, a.name) < std::tie(b.start, b.name); });
    return out;
}

}  // namespace

struct NameListener::State {
    explicit State(Recogniser r) : recogniser(std::move(r)) {}

    void add(const SpokenForm& form, std::size_t name) {
        std::string phrase;
        int length = 0;
        for (const auto& word : form.words) {
            const int phones_here = recogniser.phones_of(word);  // guesses beside the dictionary's words were tried: more was heard that nobody said
            if (phones_here == 0) return;
            phrase += (phrase.empty() ? "" : " ") + word;
            length += phones_here;
        }
        const bool alone = form.words.size() == 1;
        if (phrase.empty() || (alone && length < kFewestPhones)) return;
        Form& kept = forms[phrase];
        kept.surely = kept.surely || form.surely;
        kept.names.push_back(name);
        kept.level = alone ? level_of_name(length) : level_of_phrase(length);
    }

    bool arm() {
        std::string list;
        char line[64];
        for (const auto& [phrase, form] : forms) {
            std::snprintf(line, sizeof line, " /1e%.0f/\n", form.level);
            list += phrase + line;
        }
        const MemoryFile file(list);
        return file.good() && ps_set_kws(recogniser.ps(), "names", file.path().c_str()) == 0 && ps_set_search(recogniser.ps(), "names") == 0;
    }

    Result<std::vector<NameSpoken>> hear(const std::int16_t* sound, std::size_t count);

    struct Form {
        std::vector<std::size_t> names;
        double level = 0;
        bool surely = false;
    };
    Recogniser recogniser;
    std::map<std::string, Form> forms;  // by the phrase
};

NameListener::NameListener(std::unique_ptr<State> state) : state_(std::move(state)) {}
NameListener::NameListener(NameListener&&) noexcept = default;
NameListener& NameListener::operator=(NameListener&&) noexcept = default;
NameListener::~NameListener() = default;

Result<NameListener> NameListener::make(const std::vector<std::string>& identifiers) {
    auto recogniser = Recogniser::start({});
    if (!recogniser) return recogniser.failure();
    auto state = std::make_unique<State>(std::move(*recogniser));
    for (std::size_t i = 0; i < identifiers.size(); ++i)
        for (const auto& form : spoken_forms(identifiers[i])) state->add(form, i);
    if (state->forms.empty()) return wrong_use("Nothing on the list of known identifiers can be listened for: type in names, numbers or dates.");
    if (!state->arm()) return machine_trouble("Names cannot be listened for: the recogniser does not take them; try again.");
    return NameListener(std::move(state));
}

Result<std::vector<NameSpoken>> NameListener::State::hear(const std::int16_t* sound, std::size_t count) {
    auto pieces = recogniser.hear(sound, count);
    if (!pieces) return pieces.failure();
    std::vector<NameSpoken> out;
    for (const auto& piece : *pieces)
        if (const auto form = forms.find(piece.words); form != forms.end())
            for (const std::size_t name : form->second.names) out.push_back({name, piece.first * kListenFrame, (piece.last + 1) * kListenFrame, form->second.surely});
    return out;
}

Result<std::vector<NameSpoken>> NameListener::hear(const std::vector<std::int16_t>& sound, const Progress& progress) {
    std::vector<NameSpoken> out;
    for (std::size_t at = 0; at == 0 || at + kOverlap < sound.size(); at += kPart) {
        if (progress.stopped()) return cancelled();
        auto hits = state_->hear(sound.data() + at, std::min(kPart + kOverlap, sound.size() - at));
        if (!hits) return hits.failure();
        const Nanos begins = static_cast<Nanos>(at / kListenRate) * kSecond;
        for (const auto& hit : *hits) out.push_back({hit.name, begins + hit.start, begins + hit.end, hit.surely});
    }
    return one_per_moment(std::move(out));
}

Result<std::vector<NameSpoken>> names_spoken(NameListener& listener, media::SoundReader& sound, RecordingSpan span, const Progress& progress) {
    std::vector<NameSpoken> out;
    for (RecordingTime at = span.start; at < span.end; at = at + kRead) {
        progress.report("Listening for names", static_cast<double>(at - span.start) / static_cast<double>(span.length()));
        auto part = sound.read({at, std::min(span.end, at + kRead + kHeardOver)}, {}, progress);
        if (!part) return part.failure();
        auto hits = listener.hear(for_listening(media::as_mono(*part, 0, part->size() / media::kSoundChannels)), progress);
        if (!hits) return hits.failure();
        for (const auto& hit : *hits) out.push_back({hit.name, at.ns + hit.start, at.ns + hit.end, hit.surely});
    }
    return one_per_moment(std::move(out));
}

}  // namespace canalogue::film
