#include "evenfront/drive.hpp"

#include <algorithm>
#include <numbers>

#include "evenfront/steady.hpp"
#include "machines.hpp"
#include "support.hpp"

using namespace evenfront;
using demo::bar;
using demo::mL;
using std::numbers::pi;

namespace {

const Station& find(const std::vector<Station>& stations,
                    const std::string& stream,
                    const std::string& name) {
    return *std::find_if(stations.begin(), stations.end(), [&](const Station& each) {
        return each.stream == stream && each.name == name;
    });
}

// Newtonian, stiff and cold: every loss has a closed form.
Machine plain_machine() {
    Machine machine = demo::long_boom();
    for (Stream* stream : {&machine.resin, &machine.hardener}) {
        stream->liquid.bulk_modulus = 1e15;
        stream->liquid.free_gas = 1e-6;
        stream->liquid.thermal_expansion = 0.0;
    }
    machine.resin.rheology = {.consistency = 20.0};
    return machine;
}

}  // namespace

TEST_CASE("pressure and flow of a stiff machine by hand", "[drive][reference]") {
    // Hagen-Poiseuille, 128 mu L/(pi D^4), for every piece in series; the shaft's force balance.
    const Machine machine = plain_machine();
    const auto pipe = [](double mu, double length, double bore) {
        return 128 * mu * length / (pi * std::pow(bore, 4));
    };
    const double hose_r = pipe(20.0, 6, 0.016);
    const double hose_h = pipe(0.18, 6, 0.0048);
    const double mixer = 7 * pipe(9.0, 0.25, 0.013);
    const double a_r = pi / 4 * 0.070 * 0.070;
    const double a_h = pi / 4 * 0.02619 * 0.02619;
    const double speed = 2e-3;
    const double q_r = a_r * speed;
    const double q_h = a_h * speed;
    const double p_m = mixer * (q_r + q_h);
    const double p_r = p_m + (hose_r + 0.04 * bar / mL) * q_r;
    const double p_h = p_m + (hose_h + 0.3 * bar / mL) * q_h;
    const double force = a_r * p_r + a_h * p_h;
    // Free gas of 1e-6, its least value, moves the flow by as much.
    CHECK_THAT(force_for_flow(machine, q_r + q_h), WithinRel(force, 1e-5));

    const auto stations = pressure_stations(machine, force);
    REQUIRE(stations.size() == 9);
    CHECK_THAT(find(stations, "resin", "cylinder").pressure, WithinRel(p_r, 1e-5));
    CHECK_THAT(find(stations, "hardener", "cylinder").pressure, WithinRel(p_h, 1e-5));
    CHECK_THAT(find(stations, "resin", "hose").loss, WithinRel(hose_r * q_r, 1e-5));
    CHECK_THAT(find(stations, "hardener", "throttle").loss, WithinRel(0.2 * bar / mL * q_h, 1e-5));
    CHECK_THAT(find(stations, "hardener", "shut-off").loss, WithinRel(0.1 * bar / mL * q_h, 1e-5));
    CHECK_THAT(find(stations, "both", "mixer").pressure, WithinRel(p_m, 1e-5));
}

TEST_CASE("losses of a stream and of the mixer add up to its cylinder pressure",
          "[drive][identity]") {
    Machine machine = demo::long_boom();
    machine.hardener.throttle = demo::needle();
    Segment block = machine.resin.line.front();
    block.name = "block";
    block.length = 0.4;
    block.bore = 0.012;
    block.cells = 3;
    machine.resin.line.push_back(block);
    for (const bool before : {true, false}) {
        machine.hardener.throttle.before_shutoff = before;
        const auto stations = pressure_stations(machine, 4600);
        REQUIRE(stations.size() == 10);
        const double mixer = find(stations, "both", "mixer").loss;
        for (const char* stream : {"resin", "hardener"}) {
            double sum = mixer;
            for (const Station& each : stations) {
                if (each.stream == stream) {
                    CHECK(each.loss >= -1e-6);
                    CHECK_THAT(
                        each.pressure + 1e3,
                        WithinRel(find(stations, stream, "cylinder").pressure - sum + mixer + 1e3,
                                  1e-6));
                    sum += each.loss;
                }
            }
            CHECK_THAT(sum, WithinRel(find(stations, stream, "cylinder").pressure, 1e-9));
        }
    }
}

TEST_CASE("drive force and flow are each other's reverse", "[drive][identity]") {
    for (const double force : {500.0, 4600.0, 30e3}) {
        const Machine machine = demo::long_boom();
        const Steady steady = steady_state(machine, force);
        CHECK_THAT(force_for_flow(machine, steady.resin.flow + steady.hardener.flow),
                   WithinRel(force, 1e-9));
    }
    Machine stiff = demo::long_boom();
    stiff.resin.rheology.yield_stress = 40.0;  // below some force nothing flows at all
    const Steady steady = steady_state(stiff, 3000);
    CHECK_THAT(force_for_flow(stiff, steady.resin.flow + steady.hardener.flow),
               WithinRel(3000, 1e-9));
}

TEST_CASE("the first rating is reached by one piece while all others are below theirs", "[drive]") {
    Machine machine = demo::long_boom();
    CHECK(force_for_rating(machine) == unrated);
    CHECK(pressure_stations(machine, 4600).front().rating == unrated);
    machine.mixer.rating = 20 * bar;
    machine.resin.line.front().rating = 25 * bar;
    const double force = force_for_rating(machine);
    int reached = 0;
    for (const Station& each : pressure_stations(machine, force)) {
        CHECK(each.pressure <= each.rating * (1 + 1e-9));
        reached += each.pressure >= each.rating * (1 - 1e-9) ? 1 : 0;
    }
    CHECK(reached == 1);
}

TEST_CASE("a blocked small cylinder takes the whole force", "[drive][reference]") {
    // Definition: 4600 N on 26.19 mm is 4600/(5.3871e-4 m^2), 85.4 bar.
    CHECK_THAT(blocked_pressure(demo::long_boom().hardener.cylinder, 4600),
               WithinRel(4600 / 5.38715e-4, 1e-5));
}

TEST_CASE("a drive refuses what cannot be", "[drive][refusal]") {
    const Machine machine = demo::long_boom();
    CHECK(demo::mentions(demo::refusal([&] { (void)force_for_flow(machine, 0); }), "flow"));
    CHECK(demo::mentions(demo::refusal([&] { (void)pressure_stations(machine, -1); }), "force"));
    Machine stiff = machine;
    stiff.resin.rheology.yield_stress = 1e4;
    CHECK(pressure_stations(stiff, 100).empty());
}
