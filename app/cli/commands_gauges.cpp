#include "app/cli/commands.hpp"
#include "app/desk/gauging.hpp"

namespace canalogue::cli {

namespace {

struct GaugeArguments {
    std::string session;
    std::vector<std::string> events;
    bool suggest = false;
};

// What the share of time below a half means to a person.
std::string low_words(const desk::GaugeSummary& s) {
    char text[64];
    const double percent = s.low_share * 100;
    if (s.channel == "inside") std::snprintf(text, sizeof text, "outside or unsure %.0f %% of the time", percent);
    else if (s.channel == "clarity") std::snprintf(text, sizeof text, "unclear %.0f %% of the time", percent);
    else return "";
    return text;
}

std::string summary_line(const desk::GaugeSummary& s) {
    char text[128];
    std::snprintf(text, sizeof text, "%-4s %-12s %-10s %9s  mean %.2f  ", s.recording.c_str(), s.gauge.c_str(), s.channel.c_str(),
                  format_time(s.measured / kMillisecond * kMillisecond).c_str(), s.mean);
    return text + low_words(s);
}

int tell(Program& p, const desk::GaugeReport& report, const std::vector<desk::GaugeSummary>& summaries, const desk::SuggestReport& suggested) {
    nlohmann::ordered_json channels = nlohmann::ordered_json::array(), made = nlohmann::ordered_json::array();
    for (const auto& s : summaries)
        channels.push_back({{"recording", s.recording}, {"gauge", s.gauge}, {"channel", s.channel}, {"measured_seconds", static_cast<double>(s.measured) / kSecond},
                            {"mean", s.mean}, {"share_below_half", s.low_share}});
    for (const auto& e : suggested.made) made.push_back({{"id", e.id}, {"kind", e.kind}, {"recording", e.recording}, {"recording_at", e.at.seconds()}, {"ear", name_of(e.ear)}});
    auto troubles = report.troubles;
    troubles.insert(troubles.end(), suggested.troubles.begin(), suggested.troubles.end());
    if (p.json) say_json({{"measured_seconds", static_cast<double>(report.measured) / kSecond}, {"channels", channels}, {"suggested", made}, {"troubles", troubles}});
    else
        for (const auto& s : summaries) say(summary_line(s));
    for (const auto& t : troubles) warn(t);
    return 0;
}

int gauge(Program& p, const GaugeArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        TerminalProgress progress;
        auto done = desk::measure(desk, a.session, progress.progress());
        if (!done) return complain(done.failure());
        auto traces = desk::traces(desk, a.session);
        if (!traces) return complain(traces.failure());
        desk::SuggestReport suggested;
        if (a.suggest) {
            auto made = desk::suggest(desk, a.session);
            if (!made) return complain(made.failure());
            suggested = std::move(*made);
        }
        tell(p, *done, desk::summaries_of(*traces), suggested);
        if (!a.suggest || p.json) return 0;
        const auto n = suggested.made.size();
        say(n == 0 ? "Nothing new to suggest." : std::to_string(n) + (n == 1 ? " suggestion" : " suggestions") + "; 'canalogue events " + a.session + "' lists them. Each counts once it is accepted: 'canalogue change " + a.session + " EVENT --accept'.");
        return 0;
    });
}

int dismiss(Program& p, const GaugeArguments& a) {
    return p.with_desk([&](desk::Desk& desk) {
        auto done = desk::dismiss_suggestions(desk, a.session, a.events);
        if (!done) return complain(done.failure());
        say("Dismissed; not suggested again. 'canalogue undo " + a.session + "' brings back what was dismissed.");
        return 0;
    });
}

}  // namespace

void add_gauge_commands(Program& p) {
    auto* a = p.keep<GaugeArguments>();
    auto* gauge_command = p.add("gauge", "Measure clarity, inside or outside, motion and loudness (goes on where it stopped)", "canalogue gauge s1 --suggest");
    gauge_command->add_option("SESSION", a->session)->required();
    gauge_command->add_flag("--suggest", a->suggest, "Suggest events: scope out and in, lens smeared and wiped");
    gauge_command->add_flag("--json", p.json, "For programs");
    gauge_command->callback([&p, a] { p.run = [&p, a] { return gauge(p, *a); }; });

    auto* dismiss_command = p.add("dismiss", "Take suggestions away; they are not made again", "canalogue dismiss s1 e7 e8");
    dismiss_command->add_option("SESSION", a->session)->required();
    dismiss_command->add_option("EVENT", a->events)->required();
    dismiss_command->callback([&p, a] { p.run = [&p, a] { return dismiss(p, *a); }; });
}

}  // namespace canalogue::cli
