#include "demo_media/measure/drawn_samples.hpp"

#include <cstdio>

#include "demo_media/recording_painter.hpp"

namespace canalogue::demo {

std::vector<DrawnSample> drawn_samples(cv::Size frame, std::uint64_t seed, int each) {
    std::vector<DrawnSample> out;
    for (const Script& script : {right_ear(36), left_ear(24)}) {
        const RecordingPainter painter(script, seed + (script.ear == Ear::left ? 5000 : 0), frame, 0);
        const auto plain = [&](double t) {
            for (double near : {t - 0.5, t, t + 0.5}) {
                for (const Stretch& o : script.outside)
                    if (o.holds(near)) return false;
                for (const Stretch& s : script.smear)
                    if (s.holds(near)) return false;
            }
            return true;
        };
        std::vector<double> times;
        for (double t = 0; t < script.seconds; t += 0.1)
            if (plain(t)) times.push_back(t);
        for (int i = 0; i < each; ++i) {
            const double t = times[(times.size() - 1) * std::size_t(i) / std::size_t(std::max(1, each - 1))];
            char name[32];
            std::snprintf(name, sizeof name, "%s %05.2f", script.ear == Ear::right ? "right" : "left", t);
            out.push_back({name, painter.paint_without_text(int(t * 25), t)});
        }
    }
    return out;
}

}  // namespace canalogue::demo
