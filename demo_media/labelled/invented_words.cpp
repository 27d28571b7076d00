#include "demo_media/labelled/invented_words.hpp"

#include <cstdio>

namespace canalogue::demo::labelled {

namespace {

constexpr std::array kGiven{"Tamsin", "Orrin",  "Maudie", "Leopold", "Ysolde", "Barnaby", "Cressida", "Edmund",
                            "Fenella", "Gideon", "Hester", "Ivo",     "Jocasta", "Kester",  "Lettice",  "Merrick",
                            "Nerys",  "Osbert", "Petra",  "Quentin", "Rowena", "Silas",   "Thora",    "Ulric"};
constexpr std::array kFamily{"Oakhollow",   "Quillfeather", "Marrowby", "Thistlemere", "Drumlochry", "Pennywhin",
                             "Saltmarshe",  "Windlestraw",  "Copperdale", "Fernacre",  "Greyling-Test", "Harkaway",
                             "Inchgarth",   "Jessamy",      "Kettlewick", "Lowrigg",   "Mossgrave",  "Nettlefold-Test",
                             "Otterbourne", "Pebblesham",   "Rookwarren", "Sallowfield", "Tarnbrook", "Underholm"};
constexpr std::array kHouses{"HARBOUR EAR CLINIC", "TESTFORD GENERAL HOSPITAL", "Lanternwick Hearing Centre",
                             "SALTHAVEN ENT DEPT",  "North Tarn Audiology",      "Quayside Aural Care TEST"};
constexpr std::array kTalk{"Just hold still for me, nearly there.",
                           "This may sound a little loud in your ear.",
                           "Did you have far to come this morning?",
                           "There is quite a lot of wax in here.",
                           "Tell me if that feels dizzy at all.",
                           "Lovely weather we are having for the time of year.",
                           "Could you pass me the smaller suction tip please.",
                           "That looks much better now."};

std::string digits(Chance& chance, int count) {
    std::string out;
    for (int i = 0; i < count; ++i) out += char('0' + whole(chance, 0, 9));
    return out;
}

}  // namespace

Person invented_person(Chance& chance) {
    Person p;
    p.given = one_of(chance, kGiven), p.family = one_of(chance, kFamily);
    char born[16];
    const int day = whole(chance, 1, 28), month = whole(chance, 1, 12), year = whole(chance, 1931, 2019);
    std::snprintf(born, sizeof born, "%02d-%02d-%d", day, month, year);
    p.born = born;
    const std::string middle = digits(chance, 3);
    p.number = "999 " + middle + " " + digits(chance, 4);
    return p;
}

std::string hospital_line(Chance& chance) {
    return std::string(one_of(chance, kHouses)) + "  ROOM " + std::to_string(whole(chance, 1, 9));
}

std::string settings_line(Chance& chance) {
    const int gain = whole(chance, 1, 9), led = whole(chance, 20, 100), form = whole(chance, 0, 2);
    if (form == 0) return "WB AUTO  GAIN " + std::to_string(gain) + "  LED " + std::to_string(led);
    if (form == 1) return "EXP +0." + std::to_string(gain) + "  ENH B" + std::to_string(gain % 4);
    return "ZOOM x1." + std::to_string(gain) + "  LIGHT " + std::to_string(led) + "%";
}

std::string serial_line(Chance& chance) {
    return "S/N TEST-" + digits(chance, 3) + "-" + digits(chance, 4);
}

std::string small_talk(Chance& chance) {
    return one_of(chance, kTalk);
}

std::string telling_sentence(Chance& chance, const Person& p) {
    switch (whole(chance, 0, 4)) {
        case 0: return "My name is " + p.given + " " + p.family + ".";
        case 1: return "Date of birth, " + p.born.substr(0, 2) + " " + p.born.substr(3, 2) + " " + p.born.substr(6) + ".";
        case 2: return "Good morning " + p.given + " " + p.family + ", which ear is it today?";
        case 3: return "The number is nine nine nine, " + p.number.substr(4, 3) + ".";
        default: return "This is the right ear of " + p.family + ", " + p.given + ".";
    }
}

}  // namespace canalogue::demo::labelled
