#include "garden/spans.hpp"

#include <map>

namespace firstmow::garden {

namespace {

constexpr int kDeepest = 8;

// Walks over a text that is known to be TOML; `ok` falls when it meets what it does not know.
class Walker {
public:
    explicit Walker(std::string_view text) : text_(text) {}

    std::optional<Spans> walk() {
        if (text_.starts_with("\xef\xbb\xbf")) at_ = 3;
        spans_.tables.push_back({{}, at_});
        while (ok_) {
            skip_blank(true);
            if (done()) break;
            if (here() == '[')
                header();
            else
                statement(spans_.tables.back().path, false, 0);
        }
        if (!ok_) return std::nullopt;
        return std::move(spans_);
    }

private:
    bool done() const { return at_ >= text_.size(); }
    char here() const { return done() ? '\0' : text_[at_]; }
    bool next_is(std::string_view what) const { return text_.substr(at_).starts_with(what); }
    void fail() {
        ok_ = false;
        at_ = text_.size();
    }
    void take(char c) {
        if (here() == c)
            ++at_;
        else
            fail();
    }

    // Blanks; with lines, line breaks and comments too.
    void skip_blank(bool lines) {
        while (!done()) {
            const char c = here();
            if (c == ' ' || c == '\t' || (lines && (c == '\n' || c == '\r')))
                ++at_;
            else if (lines && c == '#') {
                at_ = std::min(text_.find('\n', at_), text_.size());
                ++comments_;
            } else
                return;
        }
    }

    // One name of a key. An escape in a quoted one is more than this reads.
    std::string name() {
        const char quote = here();
        if (quote == '"' || quote == '\'') {
            const std::size_t end = text_.find(quote, at_ + 1);
            if (end == std::string_view::npos) return fail(), "";
            std::string found(text_.substr(at_ + 1, end - at_ - 1));
            if (found.find_first_of("\\\n") != std::string::npos) return fail(), "";
            at_ = end + 1;
            return found;
        }
        constexpr std::string_view kBare = "abcdefghijklmnopqrstuvwxyz"
                                           "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_";
        const std::size_t end = std::min(text_.find_first_not_of(kBare, at_), text_.size());
        if (end == at_) return fail(), "";
        std::string found(text_.substr(at_, end - at_));
        at_ = end;
        return found;
    }

    std::vector<std::string> dotted() {
        std::vector<std::string> names;
        for (;;) {
            skip_blank(false);
            names.push_back(name());
            skip_blank(false);
            if (here() != '.' || !ok_) return names;
            ++at_;
        }
    }

    void header() {
        const bool list = next_is("[[");
        at_ += list ? 2 : 1;
        const std::vector<std::string> names = dotted();
        take(']');
        if (list) take(']');
        if (!ok_) return;
        Path path;
        for (std::size_t i = 0; i < names.size(); ++i) {
            path.push_back({names[i], -1});
            const std::string seen = text_of(path);
            const bool last = i + 1 == names.size();
            if (last && list) {
                const auto [count, fresh] = counts_.emplace(seen, 0);
                if (!fresh) ++count->second;
                path.push_back({"", count->second});
            } else if (const auto found = counts_.find(seen); found != counts_.end()) {
                path.push_back({"", found->second});
            }
        }
        const std::size_t end = text_.find('\n', at_);
        at_ = end == std::string_view::npos ? text_.size() : end + 1;
        spans_.tables.push_back({std::move(path), at_});
    }

    static std::string text_of(const Path& path) {
        std::string text;
        for (const Step& step : path)
            text += step.index < 0 ? "." + step.key : "[" + std::to_string(step.index);
        return text;
    }

    void statement(Path path, bool braced, int depth) {
        KeySpan span;
        span.key_begin = at_;
        for (std::string& one : dotted())
            path.push_back({std::move(one), -1});
        take('=');
        skip_blank(false);
        span.value_begin = at_;
        const int comments = comments_;
        value(path, depth);
        span.comment = comments_ != comments;
        span.value_end = at_;
        span.path = std::move(path);
        span.table = static_cast<int>(spans_.tables.size()) - 1;
        span.braced = braced;
        spans_.keys.push_back(std::move(span));
    }

    void value(const Path& path, int depth) {
        if (depth > kDeepest) return fail();
        if (next_is("\"\"\"") || next_is("'''")) return long_text();
        if (here() == '"' || here() == '\'') return short_text();
        if (here() == '{') return braces(path, depth);
        if (here() == '[') return brackets(path, depth);
        // A number, a date, a truth: a date may hold one blank before its time.
        const std::size_t end = std::min(text_.find_first_of(",]}#\r\n", at_), text_.size());
        std::string_view bare = text_.substr(at_, end - at_);
        while (!bare.empty() && (bare.back() == ' ' || bare.back() == '\t'))
            bare.remove_suffix(1);
        if (bare.empty()) return fail();
        at_ += bare.size();
    }

    void short_text() {
        const char quote = here();
        for (++at_; !done(); ++at_) {
            if (here() == '\\' && quote == '"')
                ++at_;
            else if (here() == quote) {
                ++at_;
                return;
            }
        }
        fail();
    }

    void long_text() {
        const char quote = here();
        const std::string end(3, quote);
        for (at_ += 3; !done(); ++at_) {
            if (here() == '\\' && quote == '"') {
                ++at_;
            } else if (next_is(end)) {
                at_ += 3;
                // Up to two more of them belong to the text.
                for (int i = 0; i < 2 && here() == quote; ++i)
                    ++at_;
                return;
            }
        }
        fail();
    }

    void braces(const Path& path, int depth) {
        take('{');
        for (skip_blank(true); ok_ && here() != '}'; skip_blank(true)) {
            statement(path, true, depth + 1);
            skip_blank(true);
            if (here() == ',')
                ++at_;
            else if (here() != '}')
                fail();
        }
        take('}');
    }

    void brackets(const Path& path, int depth) {
        take('[');
        int index = 0;
        for (skip_blank(true); ok_ && here() != ']'; skip_blank(true)) {
            Path element = path;
            element.push_back({"", index++});
            value(element, depth + 1);
            skip_blank(true);
            if (here() == ',')
                ++at_;
            else if (here() != ']')
                fail();
        }
        take(']');
    }

    std::string_view text_;
    std::size_t at_ = 0;
    bool ok_ = true;
    int comments_ = 0;
    Spans spans_;
    std::map<std::string, int> counts_; // last index of each list of tables
};

} // namespace

std::optional<Spans> find_spans(std::string_view text) {
    return Walker(text).walk();
}

} // namespace firstmow::garden
