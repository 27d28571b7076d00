#include "app/cli/demo_words.hpp"

namespace canalogue::cli {

namespace {

// Where the drawn right drum has its cone of light, in shares of the picture.
constexpr ShareBox kConeOfLight{0.48, 0.52, 0.13, 0.23};

}  // namespace

About demo_about() {
    About a;
    a.made_by = "the harbour-town ear clinic (invented)";
    a.made_for = "clinicians who learn to clear ears under an endoscope";
    a.aims = {"Tell hard wax from a foreign body before anything is done", "Take hard wax away in pieces by suction, in view all the time",
              "Name what can be seen of the drum, and leave skin that does not come by itself", "Know when to stop and refer"};
    a.case_text =
        "A retired ferry engineer hears less on the right since he swam last month, and felt something stay behind in the left ear after he had cleaned it. He has no pain, no discharge and no earlier operation of the ear.\n"
        "The right canal is wholly blocked by hard, dark brown wax. In the left canal lies the tip of a cotton bud. All of it is drawn; nobody is shown.";
    a.outcome = "Both canals are clear and both drums are seen whole. Behind the left drum there are bubbles: he is referred to the ear-nose-throat clinic within two weeks. A sore area on the right is left alone and looked at again.";
    a.consent = "This session is drawn, so nobody had to be asked. A real case states here what its patient agreed to.";
    a.conflicts = "None.";
    a.credits = {"Film, voice and words: Canalogue's demo", "Every name and number in it is a test value"};
    a.tags = {"ear care", "hard wax", "foreign body", "suction", "drum", "teaching"};
    return a;
}

std::optional<Question> demo_question(const Event& e) {
    Question q;
    q.at = e.at;
    if (e.kind == "blockage-found" && e.ear == Ear::right) {
        q.at = e.at + kSecond;
        q.asks = "What blocks this canal?";
        q.choices = {"The tip of a cotton bud", "Hard wax", "A skin flake that hangs on the wall"};
        q.right = 1;
        q.reveals = "It is dark brown, dull and fills the whole canal: hard wax. It is softened or taken in pieces, never pushed.";
        return q;
    }
    if (e.kind == "drum-visible" && e.ear == Ear::right) {
        q.asks = "Where is the cone of light?";
        q.spot = kConeOfLight;
        q.reveals = "In a right ear it runs from the end of the handle towards five o'clock. At seven o'clock the side or the picture would be wrong.";
        return q;
    }
    return {};
}

}  // namespace canalogue::cli
