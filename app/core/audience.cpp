#include "app/core/audience.hpp"

namespace canalogue {

std::string_view name_of(Audience audience) {
    switch (audience) {
        case Audience::care: return "care";
        case Audience::patient: return "patient";
        case Audience::learners: return "learners";
        case Audience::public_: return "public";
    }
    return "learners";
}

Result<Audience> audience_named(std::string_view name) {
    for (Audience a : {Audience::care, Audience::patient, Audience::learners, Audience::public_})
        if (name_of(a) == name) return a;
    return wrong_use("'" + std::string(name) + "' is not an audience: write care, patient, learners or public.");
}

std::string_view frame_notice(Audience audience) {
    switch (audience) {
        case Audience::care: return "Identifiable: for the care team only";
        case Audience::patient: return "Identifiable: for the patient only";
        default: return "";
    }
}

std::string_view teaching_caution() {
    return "For teaching. It does not diagnose. Follow local policy, current guidance and a licensed practitioner.";
}

}  // namespace canalogue
