// Variants and capsules are requested by name; for an unknown name the error gives the nearest.

#include "support/catch.hpp"
#include "support/stage.hpp"

namespace lowhiss::names_test {

const test::Stage preamp{.parts = R"(
R1 = { resistor = "10k", pins = ["in", "out"] }
R2 = { resistor = "10k", pins = ["out", "gnd"] }
)",
                         .capsule = "kind = \"resistive\"\nresistance = \"200R\"\n",
                         .tables = R"(
[variants.condenser]
summary = "for the condenser"
capsule = "condenser-60p"
set = { R1 = "1k" }

[variants.line]
set = { R2 = "100k" }

[capsule.condenser-60p]
kind = "condenser"
capacitance = "60p"

[capsule.dynamic-300]
kind = "resistive"
resistance = "300R"
)"};

Sweep swept(std::vector<std::string> variants, std::vector<std::string> capsules,
            const test::Stage& stage = preamp) {
    SweepRequest request;
    request.frequency_hz = {1000};
    request.variants = std::move(variants);
    request.capsules = std::move(capsules);
    return sweep(test::board_of(stage), request);
}

Diagnostic refusal_of(std::vector<std::string> variants, std::vector<std::string> capsules,
                      const test::Stage& stage = preamp) {
    try {
        swept(std::move(variants), std::move(capsules), stage);
    } catch (const Error& error) {
        CHECK(error.kind() == Error::Kind::unusable_input);
        return error.diagnostics().at(0);
    }
    return {};
}

TEST_CASE("an unknown variant is refused with the nearest one") {
    const Diagnostic d = refusal_of({"condensr"}, {});
    CHECK(d.code == "unknown-variant");
    CHECK(d.found == "the board has no variant 'condensr'");
    CHECK(d.accepted == "condenser, line");
    CHECK(d.advice == "did you mean 'condenser'?");
}

TEST_CASE("an unknown capsule is refused with the nearest one") {
    const Diagnostic d = refusal_of({}, {"dynamic-200", "dynamc-300"});
    CHECK(d.code == "unknown-capsule");
    CHECK(d.found == "the board has no capsule 'dynamic-200'");
    CHECK(d.accepted == "condenser-60p, dynamic-300, source");
    CHECK(d.advice == "did you mean 'dynamic-300'?");
    CHECK(refusal_of({}, {"source", "moving-coil"}).advice.empty());
}

TEST_CASE("a board without variants says so") {
    const Diagnostic d = refusal_of({"condenser"}, {}, {.parts = preamp.parts});
    CHECK(d.found == "the board has no variant 'condenser'");
    CHECK(d.accepted == "none: the board has no variant");
    CHECK(d.advice.empty());
}

TEST_CASE("runs stand in the order of variants, and of capsules within each") {
    const Sweep result = swept({"", "condenser", "line"}, {});
    REQUIRE(result.runs.size() == 3);
    CHECK(result.runs[0].variant.empty());
    CHECK(result.runs[0].capsule == "source");
    CHECK(result.runs[1].variant == "condenser");
    CHECK(result.runs[1].summary == "for the condenser");
    CHECK(result.runs[1].capsule == "condenser-60p");
    CHECK(result.runs[2].variant == "line");
    CHECK(result.runs[2].capsule == "source");

    const Sweep two = swept({"line"}, {"dynamic-300", "source"});
    REQUIRE(two.runs.size() == 2);
    CHECK(two.runs[0].capsule == "dynamic-300");
    CHECK(two.runs[1].capsule == "source");
}

TEST_CASE("without a knob there is one position, and it has no number") {
    const Sweep result = swept({}, {});
    REQUIRE(result.runs.at(0).knob.size() == 1);
    CHECK(std::isnan(result.runs[0].knob[0].position));
    CHECK(std::isnan(result.runs[0].knob[0].resistance_ohm));
}

TEST_CASE("a circuit without a unique solution is refused as such") {
    test::Stage floating = preamp;
    floating.parts += "R9 = { resistor = \"1k\", pins = [\"x\", \"y\"] }\n";
    try {
        swept({}, {}, floating);
        FAIL("it was solved");
    } catch (const Error& error) {
        CHECK(error.kind() == Error::Kind::no_unique_solution);
        const std::string text = test::all_text(error.diagnostics());
        CAPTURE(text);
        CHECK(text.find("R9") != std::string::npos);
    }
}

}  // namespace lowhiss::names_test
