// A change of the garden file's text: the key that is meant and no other byte.
#include "base/random.hpp"
#include "garden/document.hpp"
#include "garden/edit.hpp"
#include "garden/spans.hpp"
#include "sample.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <sstream>

using namespace firstmow;
using namespace firstmow::garden;

namespace {

std::string changed(std::string_view text, const Change& change) {
    const auto edited = edit(text, {&change, 1});
    return edited ? *edited : "refused: " + edited.error().message;
}

std::string example_text() {
    std::ifstream file(std::string(FIRSTMOW_SOURCE_DIR) + "/config/garden.toml", std::ios::binary);
    REQUIRE(file.good());
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

// A second writer of documents, apart from the first: every key with its path, as one line each.
void tell(const Node& node, const std::string& path, std::vector<std::string>& lines) {
    if (node.kind == Kind::list) {
        for (std::size_t i = 0; i < node.items.size(); ++i)
            tell(node.items[i], path + "[" + std::to_string(i) + "]", lines);
        lines.push_back(path + " list of " + std::to_string(node.items.size()));
        return;
    }
    if (node.kind == Kind::table) {
        for (const Entry& entry : node.entries)
            tell(entry.value, path + "." + entry.key, lines);
        return;
    }
    lines.push_back(path + " " + std::string(name(node.kind)) + " " + node.text + " " +
                    std::to_string(node.number) + (node.truth ? " true " : " ") +
                    (node.kind == Kind::date ? to_string(node.date) : ""));
}
std::vector<std::string> told(std::string_view text) {
    const auto parsed = parse_document(text);
    REQUIRE(std::holds_alternative<Node>(parsed));
    std::vector<std::string> lines;
    tell(std::get<Node>(parsed), "", lines);
    std::sort(lines.begin(), lines.end());
    return lines;
}

// The bytes that two texts share at both ends leave no more than `most` of the old one between.
void check_little_touched(const std::string& before, const std::string& after, std::size_t most) {
    std::size_t head = 0;
    while (head < before.size() && head < after.size() && before[head] == after[head])
        ++head;
    std::size_t tail = 0;
    while (tail < before.size() - head && tail < after.size() - head &&
           before[before.size() - 1 - tail] == after[after.size() - 1 - tail])
        ++tail;
    CHECK_LE(before.size() - head - tail, most);
}

} // namespace

TEST_CASE("edit: a value in its line, comment and blanks stay") {
    const std::string text = "# mine\n[[zone]]\nid = \"a\"\n  area  =  \"90 m2\"   # paced out\n\n";
    CHECK_EQ(changed(text, {"a", "area", "\"95 m2\""}),
             "# mine\n[[zone]]\nid = \"a\"\n  area  =  \"95 m2\"   # paced out\n\n");
}

TEST_CASE("edit: every form in which a file can say a key") {
    struct Trial {
        std::string before;
        Change change;
        std::string after;
    };
    const Trial trials[] = {
        // A '#' in a string is no comment, a quote in it no end.
        {"[[zone]]\nid = \"a\"\nname = \"No # 3 \\\" x\" # c\n",
         {"a", "name", "\"B\""},
         "[[zone]]\nid = \"a\"\nname = \"B\" # c\n"},
        {"[[zone]]\nid = 'a'\nname = 'say \"#\"'\n",
         {"a", "name", "\"B\""},
         "[[zone]]\nid = 'a'\nname = \"B\"\n"},
        // Text over several lines.
        {"[[zone]]\nid = \"a\"\nname = \"\"\"one\n # two\"\"\"\narea = \"1 m2\"\n",
         {"a", "name", "\"B\""},
         "[[zone]]\nid = \"a\"\nname = \"B\"\narea = \"1 m2\"\n"},
        // Line breaks of the other kind.
        {"[[zone]]\r\nid = \"a\"\r\narea = \"1 m2\" # c\r\n",
         {"a", "area", "\"2 m2\""},
         "[[zone]]\r\nid = \"a\"\r\narea = \"2 m2\" # c\r\n"},
        {"[[zone]]\r\nid = \"a\"\r\narea = \"1 m2\"\r\n",
         {"a", "slope", "\"2 %\""},
         "[[zone]]\r\nid = \"a\"\r\narea = \"1 m2\"\r\nslope = \"2 %\"\r\n"},
        // The second of two zones, and not the first.
        {"[[zone]]\nid = \"a\"\narea = \"1 m2\"\n[[zone]]\nid = \"b\"\narea = \"1 m2\"\n",
         {"b", "area", "\"2 m2\""},
         "[[zone]]\nid = \"a\"\narea = \"1 m2\"\n[[zone]]\nid = \"b\"\narea = \"2 m2\"\n"},
        // A table of the zone, in each of its forms.
        {"[[zone]]\nid = \"a\"\n[zone.establishment]\nmethod = \"seed\"\ncover = \"none\"\n"
         "[[zone]]\nid = \"b\"\n[zone.establishment]\nmethod = \"seed\"\ncover = \"none\"\n",
         {"b", "establishment.cover", "\"straw\""},
         "[[zone]]\nid = \"a\"\n[zone.establishment]\nmethod = \"seed\"\ncover = \"none\"\n"
         "[[zone]]\nid = \"b\"\n[zone.establishment]\nmethod = \"seed\"\ncover = \"straw\"\n"},
        {"[[zone]]\nid = \"a\"\nestablishment = { method = \"seed\", cover = \"none\" } # c\n",
         {"a", "establishment.cover", "\"straw\""},
         "[[zone]]\nid = \"a\"\nestablishment = { method = \"seed\", cover = \"straw\" } # c\n"},
        {"[[zone]]\nid = \"a\"\nestablishment.method = \"seed\"\nestablishment.cover = \"none\"\n",
         {"a", "establishment.cover", "\"straw\""},
         "[[zone]]\nid = \"a\"\nestablishment.method = \"seed\"\nestablishment.cover = "
         "\"straw\"\n"},
        // The same, where the key is new.
        {"[[zone]]\nid = \"a\"\n[zone.establishment]\nmethod = \"seed\"\n[x]\n",
         {"a", "establishment.cover", "\"straw\""},
         "[[zone]]\nid = \"a\"\n[zone.establishment]\nmethod = \"seed\"\ncover = \"straw\"\n[x]\n"},
        {"[[zone]]\nid = \"a\"\nestablishment = { method = \"seed\" }\n",
         {"a", "establishment.cover", "\"straw\""},
         "[[zone]]\nid = \"a\"\nestablishment = { method = \"seed\", cover = \"straw\" }\n"},
        {"[[zone]]\nid = \"a\"\nestablishment = {}\n",
         {"a", "establishment.cover", "\"straw\""},
         "[[zone]]\nid = \"a\"\nestablishment = { cover = \"straw\" }\n"},
        {"[[zone]]\nid = \"a\"\n  establishment.method = \"seed\"\narea = \"1 m2\"\n",
         {"a", "establishment.cover", "\"straw\""},
         "[[zone]]\nid = \"a\"\n  establishment.method = \"seed\"\n"
         "  establishment.cover = \"straw\"\narea = \"1 m2\"\n"},
        // Zones as a list.
        {"zone = [\n  { id = \"a\", area = \"1 m2\" },\n  { id = \"b\", area = \"1 m2\" }, # "
         "c\n]\n",
         {"b", "area", "\"2 m2\""},
         "zone = [\n  { id = \"a\", area = \"1 m2\" },\n  { id = \"b\", area = \"2 m2\" }, # "
         "c\n]\n"},
        {"zone = [{ id = \"a\" }, { id = \"b\" }]\n",
         {"a", "slope", "\"2 %\""},
         "zone = [{ id = \"a\", slope = \"2 %\" }, { id = \"b\" }]\n"},
        // A list over several lines gives way to one on one line.
        {"[[zone]]\nid = \"a\"\nestablishment.mix = [\n  { species = \"x\", share = 1 },\n]\nq = "
         "1\n",
         {"a", "establishment.mix", "[ { species = \"y\", share = 1 } ]"},
         "[[zone]]\nid = \"a\"\nestablishment.mix = [ { species = \"y\", share = 1 } ]\nq = 1\n"},
        // Of the whole garden; and quoted keys.
        {"[supply]\nhours = [ \"06:00-19:00\" ] # c\n",
         {"", "supply.hours", "[\"05:00-09:00\"]"},
         "[supply]\nhours = [\"05:00-09:00\"] # c\n"},
        {"supply = { flow = \"1 L/min\", hours = [\"06:00-19:00\"] }\n",
         {"", "supply.hours", "[\"05:00-09:00\"]"},
         "supply = { flow = \"1 L/min\", hours = [\"05:00-09:00\"] }\n"},
        {"supply.flow = \"1 L/min\"\n\"supply\".'hours' = [\"06:00-19:00\"]\n",
         {"", "supply.hours", "[\"05:00-09:00\"]"},
         "supply.flow = \"1 L/min\"\n\"supply\".'hours' = [\"05:00-09:00\"]\n"},
        // The last line has no end.
        {"[[zone]]\nid = \"a\"\narea = \"1 m2\"",
         {"a", "slope", "\"2 %\""},
         "[[zone]]\nid = \"a\"\narea = \"1 m2\"\nslope = \"2 %\""},
        // A new key stands where a garden file has it.
        {"[[zone]]\nid = \"a\"\narea = \"1 m2\" # c\nvalve = { channel = 1 }\n\n# next\n",
         {"a", "name", "\"A\""},
         "[[zone]]\nid = \"a\"\nname = \"A\"\narea = \"1 m2\" # c\nvalve = { channel = 1 }\n\n# "
         "next\n"},
        // What goes takes its line with it, and leaves its comment.
        {"[[zone]]\nid = \"a\"\nslope = \"2 %\"\narea = \"1 m2\"\n",
         {"a", "slope", {}},
         "[[zone]]\nid = \"a\"\narea = \"1 m2\"\n"},
        {"[[zone]]\nid = \"a\"\nslope = \"2 %\" # by eye\narea = \"1 m2\"\n",
         {"a", "slope", {}},
         "[[zone]]\nid = \"a\"\n# by eye\narea = \"1 m2\"\n"},
        {"zone = [{ id = \"a\", slope = \"2 %\", area = \"1 m2\" }]\n",
         {"a", "slope", {}},
         "zone = [{ id = \"a\", area = \"1 m2\" }]\n"},
        {"zone = [{ slope = \"2 %\", id = \"a\" }]\n",
         {"a", "slope", {}},
         "zone = [{ id = \"a\" }]\n"},
        {"[[zone]]\nid = \"a\"\narea = \"1 m2\"\n",
         {"a", "slope", {}},
         "[[zone]]\nid = \"a\"\narea = \"1 m2\"\n"},
    };
    for (const Trial& trial : trials) {
        CAPTURE(trial.before);
        CHECK_EQ(changed(trial.before, trial.change), trial.after);
    }
}

TEST_CASE("edit: what cannot be done safely is refused in a sentence, and nothing changes") {
    const auto refused = [](const char* text, const Change& change, const char* why) {
        CAPTURE(text);
        const std::string answer = changed(text, change);
        CHECK_MESSAGE(answer.starts_with("refused: "), answer);
        CHECK_MESSAGE(answer.find(why) != std::string::npos, answer);
        CHECK_EQ(answer.find('\n'), std::string::npos);
    };
    const Change loam{"a", "soil", "\"loam\""};
    refused("[[zone]]\nid = \"a\"\n[zone.soil]\nsand = \"40 %\"\n", loam, "a table of its own");
    refused("[[zone]]\nid = \"a\"\nsoil.sand = \"40 %\"\n", loam, "a table of its own");
    refused("[[zone]]\nid = \"a\"\n", {"a", "establishment.cover", "\"straw\""}, "does not have");
    refused("[[zone]]\nid = \"a\"\n", {"b", "area", "\"1 m2\""}, "no zone \"b\"");
    refused("[[zone]]\nid = \"a\"\nestablishment.mix = [\n # half\n { species = \"x\" } ]\n",
            {"a", "establishment.mix", "[]"}, "holds a comment");
    refused("[[zone]]\nid = \"a\"\narea = \n", {"a", "area", "\"1 m2\""}, "has errors (line 3");
    refused("\"a\\u0062\" = 1\n[[zone]]\nid = \"a\"\n", {"a", "area", "\"1 m2\""}, "escapes");
    // A value that is none, or more than one.
    for (const char* value :
         {"", "1\nvalve = 2", "1 # c", "\"a", "1, b = 2", "} x = {", "[1", "1\r2"})
        refused("[[zone]]\nid = \"a\"\narea = \"1 m2\"\n", {"a", "area", value}, "");
    const std::vector<Change> many(65, Change{"a", "area", "\"1 m2\""});
    CHECK_FALSE(edit("[[zone]]\nid = \"a\"\n", many).ok());
}

TEST_CASE("edit: a value with a comment behind it in the change is no value") {
    // It would swallow what follows between braces.
    CHECK(changed("zone = [{ id = \"a\", area = \"1 m2\" }]\n", {"a", "area", "1 # x"})
              .starts_with("refused"));
}

TEST_CASE("edit: any text goes into a name and comes back as it was, and moves nothing else") {
    const std::string before = sample();
    std::vector<std::string> names = {"a\nvalve = { driver = \"x\" }",
                                      "\"",
                                      "\"]\n[x]\n",
                                      "\\",
                                      "'",
                                      "#",
                                      "\x01\x1f\x7f",
                                      "\t",
                                      "caf\xc3\xa9",
                                      "\r\n",
                                      "\"\"\"",
                                      "{}",
                                      "]]",
                                      std::string(1, '\0') + "x"};
    Random random(8);
    for (int trial = 0; trial < 2000; ++trial) {
        std::string text;
        for (std::uint64_t n = random.bits() % 40; n > 0; --n)
            text += static_cast<char>(random.bits() % 128);
        names.push_back(std::move(text));
    }
    for (const std::string& text : names) {
        const Change change{"front", "name", toml_string(text)};
        const auto after = edit(before, {&change, 1});
        REQUIRE(after);
        const auto parsed = parse_document(*after);
        REQUIRE(std::holds_alternative<Node>(parsed));
        auto lines = told(*after);
        const std::string line = ".zone[0].name text " + text + " 0.000000 ";
        const auto found = std::find(lines.begin(), lines.end(), line);
        REQUIRE(found != lines.end());
        *found = ".zone[0].name text Front lawn 0.000000 ";
        std::sort(lines.begin(), lines.end());
        CHECK(lines == told(before));
    }
}

TEST_CASE("edit: in the example, every key of every zone: it alone changes") {
    const std::string before = example_text();
    const auto said = what_is_said(before);
    REQUIRE(said);
    REQUIRE_EQ(said->zones.size(), 4);
    const auto old_lines = told(before);
    int edits = 0;
    for (const SaidZone& zone : said->zones)
        for (const Said& key : zone.keys)
            for (const bool goes : {false, true}) {
                const Change change{zone.id, std::string(key.key),
                                    goes ? std::nullopt
                                         : std::optional<std::string>("\"changed\"")};
                const auto after = edit(before, {&change, 1});
                CAPTURE(zone.id);
                CAPTURE(key.key);
                if (!key.fixed.empty()) {
                    CHECK((goes || !after));
                    continue;
                }
                REQUIRE_MESSAGE(after, after.error().message);
                std::vector<std::string> differs;
                const auto lines = told(*after);
                std::set_symmetric_difference(lines.begin(), lines.end(), old_lines.begin(),
                                              old_lines.end(), std::back_inserter(differs));
                const std::string of = std::string(".") + std::string(key.key);
                for (const std::string& line : differs)
                    CHECK_MESSAGE(line.find(of) != std::string::npos, line);
                CHECK_EQ(differs.empty(), goes && key.toml.empty());
                check_little_touched(before, *after, key.toml.size() + 40);
                CHECK_EQ(std::count(after->begin(), after->end(), '#'),
                         std::count(before.begin(), before.end(), '#'));
                // And back.
                const Change back{zone.id, std::string(key.key),
                                  key.toml.empty() ? std::nullopt
                                                   : std::optional<std::string>(key.toml)};
                if (key.toml.find('\n') == std::string::npos) {
                    const auto again = edit(*after, {&back, 1});
                    REQUIRE(again);
                    CHECK(told(*again) == old_lines);
                    if (!goes) CHECK(*again == before);
                }
                ++edits;
            }
    CHECK_GT(edits, 80);
}

TEST_CASE("edit: lines of a garden in any order and form, an answer and never another meaning") {
    Random random(31);
    int done = 0;
    for (int trial = 0; trial < 3000; ++trial) {
        std::string text;
        for (const std::string& line : sample_lines()) {
            const auto dice = random.bits() % 16;
            if (dice == 0) continue;
            if (dice == 1) text += "  ";
            text += line;
            if (dice == 2) text += "   # \"quoted\" = 'x' [";
            text += dice == 3 ? "\r\n" : "\n";
            if (dice == 4) text += "\n# [[zone]] id = \"front\"\n";
        }
        const auto keys = editable();
        const Editable& key = keys[random.bits() % keys.size()];
        const Change change{
            key.of_zone ? (random.bits() % 2 == 0 ? "front" : "bed") : "", std::string(key.key),
            random.bits() % 4 == 0 ? std::nullopt : std::optional<std::string>("[\"#\", 1]")};
        const auto parsed = parse_document(text);
        const auto after = edit(text, {&change, 1});
        if (!std::holds_alternative<Node>(parsed)) {
            CHECK_FALSE(after.ok());
            continue;
        }
        if (!after) continue;
        ++done;
        std::vector<std::string> differs;
        const auto old_lines = told(text);
        const auto lines = told(*after);
        std::set_symmetric_difference(lines.begin(), lines.end(), old_lines.begin(),
                                      old_lines.end(), std::back_inserter(differs));
        const std::string of = std::string(".") + std::string(key.key);
        for (const std::string& line : differs)
            CHECK_MESSAGE(line.find(of) != std::string::npos, line);
    }
    CHECK_GT(done, 1000);
}

TEST_CASE("edit: torn texts give an answer") {
    const std::string whole = example_text();
    Random random(5);
    for (int trial = 0; trial < 1500; ++trial) {
        std::string text = whole.substr(whole.size() / 2);
        for (int i = 0; i < 3; ++i)
            text[random.bits() % text.size()] = "\"'[]{}#=.,\n\\"[random.bits() % 12];
        (void)find_spans(text);
        const Change change{"side", "area", "\"1 m2\""};
        (void)edit(text, {&change, 1});
        (void)what_is_said(text);
    }
}

TEST_CASE("what is said: values as they stand, and what is to be left alone") {
    const auto said = what_is_said(sample({{19, "soil = { sand = \"40 %\", clay = \"20 %\" }"}}));
    REQUIRE(said);
    REQUIRE_EQ(said->zones.size(), 2);
    const auto of = [&](std::size_t zone, std::string_view key) {
        for (const Said& one : said->zones[zone].keys)
            if (one.key == key) return one;
        return Said{};
    };
    CHECK_EQ(of(0, "area").toml, "\"90 m2\"");
    CHECK_EQ(of(0, "area").line, 18);
    CHECK_EQ(of(0, "area").text.value_or(""), "90 m2");
    CHECK_EQ(of(0, "distribution_uniformity").number.value_or(0), 0.65);
    CHECK_EQ(of(0, "establishment.mix").shares.size(), 2);
    CHECK_EQ(said->keys[0].texts, std::vector<std::string>{"06:00-19:00"});
    CHECK_FALSE(of(0, "soil").fixed.empty());
    CHECK_EQ(of(0, "establishment.cover").toml, "\"straw\"");
    CHECK_EQ(of(1, "establishment.cover").fixed, "Nothing is being established here.");
    CHECK_EQ(of(1, "slope").toml, "");
    CHECK(of(1, "slope").fixed.empty());
    REQUIRE_EQ(said->keys.size(), 2);
    CHECK_EQ(said->keys[0].toml, "[\"06:00-19:00\"]");
    // A valve can be had in no way.
    CHECK(find_editable(true, "valve") == nullptr);
    CHECK(find_editable(false, "area") == nullptr);
}

TEST_CASE("lines that differ") {
    CHECK(line_changes("a\nb\nc\n", "a\nb\nc\n").empty());
    CHECK(line_changes("a\nb\nc\n", "a\nB\nc\n") ==
          std::vector<LineChange>{{2, false, "b"}, {2, true, "B"}});
    CHECK(line_changes("a\r\nc\r\n", "a\r\nb\r\nc\r\n") == std::vector<LineChange>{{2, true, "b"}});
    CHECK(line_changes("a\nb\nc\nd\ne\n", "a\nc\nd\nx\ne\n") ==
          std::vector<LineChange>{{2, false, "b"}, {4, true, "x"}});
    CHECK(line_changes("", "a") == std::vector<LineChange>{{1, true, "a"}});
}
