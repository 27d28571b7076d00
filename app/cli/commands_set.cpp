#include "app/cli/commands.hpp"
#include "export/teaching_set.hpp"

namespace canalogue::cli {

namespace {

struct SetArguments {
    std::string out, title;
    std::vector<std::string> exports;
};

int make_set(const SetArguments& a) {
    const std::vector<std::filesystem::path> exports(a.exports.begin(), a.exports.end());
    auto earlier = film::write_teaching_set(a.out, a.title, exports);
    if (!earlier) return complain(earlier.failure());
    say("The teaching set's page is " + (std::filesystem::path(a.out) / film::kTeachingSetFile).string() + " (" + std::to_string(exports.size()) + (exports.size() == 1 ? " case" : " cases") +
        "). It links to the exports where they are: keep them at the same places beside it.");
    if (!earlier->empty()) say("What was there before is now " + earlier->string() + ".");
    return 0;
}

}  // namespace

void add_set_commands(Program& p) {
    auto* a = p.keep<SetArguments>();
    auto* command = p.add("set", "Make a teaching set: one page that leads to the case pages of finished exports, in this order", "canalogue set --title \"Ears, week 1\" --out course course/wax course/foreign-body");
    command->add_option("--out", a->out, "The folder for its page, index.html; best the one that holds the exports")->required()->type_name("DIR");
    command->add_option("--title", a->title, "What stands above it")->type_name("TEXT");
    command->add_option("EXPORT", a->exports, "Folders that 'canalogue render' made for learners or the public")->required()->type_name("DIR");
    command->callback([&p, a] { p.run = [a] { return make_set(*a); }; });
}

}  // namespace canalogue::cli
