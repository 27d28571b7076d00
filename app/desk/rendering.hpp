// Rendering a plan for an audience, and keeping what ties the export to its source.
#pragma once

#include "app/core/audience.hpp"
#include "app/core/plan.hpp"
#include "app/desk/captioning.hpp"
#include "app/desk/desk.hpp"
#include "export/render.hpp"

namespace canalogue::desk {

struct RenderWish {
    std::string session;
    Plan plan;
    Audience audience = Audience::learners;
    std::string reason;      // required where the film may identify
    std::filesystem::path out;
    bool replace = false;
    std::string passphrase;        // to compare with known identifiers
    CaptionFiles captions_also{};
    bool names_unchecked = false;  // for strangers although identifiers are sealed and there is no passphrase
};

struct Rendered {
    film::RenderReport report;
    int open_suspects = 0;           // covered, but nobody has judged them yet
    std::vector<std::string> notes;  // sentences for whoever is about to show the film
    std::vector<Suspect> to_decide;  // suspects that the check of a held film added: covered until somebody decides
};

// Why a held film is not where it was asked for, and what to do; one sentence for the window and the terminal.
std::string why_held(const Rendered& rendered);

Result<Rendered> render(Desk& desk, const RenderWish& wish, const Progress& progress);

}  // namespace canalogue::desk
