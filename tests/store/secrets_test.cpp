#include "tests/store/library_folder.hpp"

using namespace canalogue;
using namespace canalogue::test;

namespace {

constexpr const char* kName = "Brackwater-Lund";

// Every file of the folder that holds the bytes, plain, doubled (UTF-16) or in base64.
std::vector<std::string> files_with(const fs::path& folder, const std::string& secret) {
    std::string wide;
    for (char c : secret) wide += std::string{c, '\0'};
    std::vector<std::string> out;
    for (const auto& e : fs::recursive_directory_iterator(folder)) {
        if (!e.is_regular_file()) continue;
        const std::string bytes = read_file(e.path());
        bool found = bytes.find(secret) != std::string::npos || bytes.find(wide) != std::string::npos;
        for (std::size_t cut = 0; cut < 3; ++cut) {  // base64 of the name at any of its three alignments
            const std::string code = store::base64(secret.substr(cut, (secret.size() - cut) / 3 * 3));
            found = found || bytes.find(code) != std::string::npos;
        }
        if (found) out.push_back(e.path().filename().string());
    }
    return out;
}

void plant(Library& library) {
    Event e = event("e1", "advice", 3);
    e.note = std::string("daughter of ") + kName;
    e.attributes = {{"words", kName}};
    REQUIRE(library.commit(tagging(e)).ok());
    Recording r = recording();
    r.path = std::string("/scope/") + kName + ".mp4";
    REQUIRE(library.commit({"s1", "import r1", "N. Example", {store::put(r)}, true}).ok());
    e.note = std::string(kName) + " again";
    REQUIRE(library.commit(tagging(e)).ok());
}

}  // namespace

TEST_CASE("No private word is in the clear in any file of the library, open or closed, before or after undo") {
    TempFolder folder;
    {
        Library library = opened(folder.path());
        plant(library);
        REQUIRE(fs::exists(folder / "library.sqlite-wal"));
        CHECK(files_with(folder.path(), kName).empty());
        REQUIRE(library.undo("s1", "x").ok());
        REQUIRE(library.commit(deleting("e1")).ok());
        CHECK(files_with(folder.path(), kName).empty());
    }
    CHECK(files_with(folder.path(), kName).empty());
    // The search itself finds what is there.
    write_file(folder / "plain", std::string("xx") + kName);
    write_file(folder / "coded", store::base64(std::string("x") + kName));
    CHECK(files_with(folder.path(), kName).size() == 2);
}

TEST_CASE("Who holds the key reads every private word back") {
    TempFolder folder;
    {
        Library library = opened(folder.path());
        plant(library);
    }
    Library library = opened(folder.path());
    CHECK((*library.find<Event>("s1", "e1"))->note == std::string(kName) + " again");
    CHECK((*library.find<Event>("s1", "e1"))->attributes.at("words") == kName);
    CHECK((*library.find<Recording>("s1", "r1"))->path == std::string("/scope/") + kName + ".mp4");
}

TEST_CASE("A session whose key is destroyed keeps its chain and loses its private words for good") {
    TempFolder folder;
    std::string head;
    {
        Library library = opened(folder.path());
        plant(library);
        REQUIRE(library.commit(tagging(event("e1", "bleeding", 1), "s2")).ok());
        REQUIRE(library.keep_sealed("s1", "known", "k1", "sealed words").ok());
        head = *library.chain_head();
    }
    sql(folder.path(), "UPDATE session_key SET wrapped=zeroblob(length(wrapped)) WHERE session='s1'");
    Library library = opened(folder.path());
    CHECK_FALSE(library.verify()->broken_at);
    CHECK(*library.chain_head() == head);
    auto e = library.find<Event>("s1", "e1");
    REQUIRE(e.ok());
    REQUIRE(*e);
    CHECK((*e)->kind == "advice");
    CHECK((*e)->note.empty());
    CHECK(library.sealed("s1", "known")->empty());
    CHECK(library.undo("s1", "x").failure().trouble == Trouble::refused);
    CHECK(library.commit(tagging(event("e7", "bleeding", 1))).failure().trouble == Trouble::refused);
    CHECK(library.undo("s2", "x").ok());  // another session is untouched
}

TEST_CASE("A wrong passphrase opens nothing and is told in one sentence") {
    auto record = store::Vault::make("harbour lights", true);
    REQUIRE(record.ok());
    const std::string sealed = store::Vault::put(*record, kName);
    CHECK(sealed.find(kName) == std::string::npos);
    for (const char* wrong : {"", "harbour light", "Harbour lights", "harbour lights "}) {
        auto vault = store::Vault::open(*record, wrong);
        INFO("'" << wrong << "'");
        REQUIRE_FALSE(vault.ok());
        CHECK(vault.failure().trouble == Trouble::wrong_use);
        CHECK(vault.failure().sentence.back() == '.');
        CHECK(vault.failure().sentence.find("harbour") == std::string::npos);
    }
    auto vault = store::Vault::open(*record, "harbour lights");
    REQUIRE(vault.ok());
    CHECK(*vault->take(sealed) == kName);
    std::string changed = sealed;
    changed[changed.size() / 2] = static_cast<char>(changed[changed.size() / 2] ^ 1);
    CHECK_FALSE(vault->take(changed));
}

TEST_CASE("A library has one vault, and a second one is not put in its place") {
    TempFolder folder;
    Library library = opened(folder.path());
    CHECK_FALSE(*library.vault());
    auto first = store::Vault::make("the first words", true), second = store::Vault::make("the second words", true);
    REQUIRE(first.ok());
    REQUIRE(second.ok());
    REQUIRE(library.keep_vault(*first).ok());
    CHECK_FALSE(library.keep_vault(*second).ok());
    CHECK((*library.vault())->salt == first->salt);
}

TEST_CASE("The same words sealed twice look different, and a changed byte is noticed") {
    REQUIRE(store::sealing_ready());
    const auto key = store::SealKey::fresh(), other = store::SealKey::fresh();
    const std::string a = key.seal(kName), b = key.seal(kName);
    CHECK(a != b);
    CHECK(*key.open(a) == kName);
    CHECK_FALSE(other.open(a));
    for (std::size_t i = 0; i < a.size(); ++i) {
        std::string changed = a;
        changed[i] = static_cast<char>(changed[i] ^ 1);
        CHECK_FALSE(key.open(changed));
    }
    CHECK_FALSE(key.open(""));
    CHECK_FALSE(key.open(a.substr(0, 30)));
}

// FIPS 180-4's examples.
TEST_CASE("The chain's hash is SHA-256") {
    CHECK(store::hexadecimal(store::sha256("abc")) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(store::hexadecimal(store::sha256("")) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}
