#include <algorithm>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>
#include <numbers>
#include <random>
#include <stdexcept>
#include <vector>

#include "evenfront/lead.hpp"
#include "support.hpp"

using namespace evenfront;
using Eigen::Index;
using Eigen::VectorXd;

namespace {

const double pi = std::numbers::pi;

// A stream known in closed form: liquid volume and flow against time since the open command.
struct Known {
    std::function<double(double)> volume;
    std::function<double(double)> flow;
};

double integrate(const std::function<double(double)>& f, double from, double to) {
    return boost::math::quadrature::gauss_kronrod<double, 61>::integrate(f, from, to, 8, 1e-11);
}

double root(const std::function<double(double)>& f, double low, double high) {
    std::uintmax_t iterations = 200;
    const auto bracket = boost::math::tools::toms748_solve(
        f, low, high, boost::math::tools::eps_tolerance<double>(50), iterations);
    return 0.5 * (bracket.first + bracket.second);
}

// Flow that comes up with one time constant: q = final (1 - exp(-t/constant)).
Known rising(double final, double constant) {
    return {.volume = [=](double t) { return final * (t + constant * std::expm1(-t / constant)); },
            .flow = [=](double t) { return -final * std::expm1(-t / constant); }};
}

Known plus_sine(const Known& base, double factor, double amplitude, double frequency) {
    return {
        .volume =
            [=](double t) { return factor * base.volume(t) + amplitude * std::sin(frequency * t); },
        .flow =
            [=](double t) {
                return factor * base.flow(t) + amplitude * frequency * std::cos(frequency * t);
            }};
}

// Rows at given times; volumes start from `offset`, as in a run with earlier shots.
Trace trace_of(const VectorXd& time,
               const Known& resin,
               const Known& hardener,
               double offset = 0.0) {
    const Index rows = time.size();
    Trace trace{};
    trace.time = time.array() + 100.0;
    trace.position = VectorXd::Zero(rows);
    const auto fill = [&](StreamTrace& stream, const Known& known, double pressure) {
        stream.volume = time.unaryExpr(known.volume).array() + offset;
        stream.flow = time.unaryExpr(known.flow);
        stream.pressure = RowMatrix::Constant(rows, 2, pressure);
        stream.pressure.col(1).array() += 1e5;
    };
    fill(trace.resin, resin, 30e5);
    fill(trace.hardener, hardener, 20e5);
    trace.shots = {{.step = 0, .open = 0, .close = rows - 1, .shut = rows - 1}};
    return trace;
}

VectorXd graded_time(int rows, double duration, double grading = 4.0) {
    return VectorXd::LinSpaced(rows, 0.0, 1.0).unaryExpr([=](double x) {
        return duration * std::expm1(grading * x) / std::expm1(grading);
    });
}

Steady steady_of(double ratio, double hardener_flow) {
    Steady steady{};
    steady.flows = true;
    steady.ratio = ratio;
    steady.hardener.flow = hardener_flow;
    return steady;
}

Mixer mixer_of(Residence residence, double peclet = 100.0) {
    return {.bore = 0.013,
            .length = 0.25,
            .void_fraction = 0.82,
            .blend_viscosity = 9.0,
            .residence = residence,
            .peclet = peclet};
}

// The exponential case used below: hardener comes up four times as fast as resin.
constexpr double ratio = 0.14;
constexpr double resin_final = 10e-6;
constexpr double hardener_final = ratio * resin_final;
constexpr double slow = 0.20;
constexpr double fast = 0.05;
constexpr double duration = 3.0;
constexpr double tolerance = 0.05;
const Target exact_target{
    .ratio = ratio, .tolerance_high = tolerance, .tolerance_low = tolerance, .resolve = 1e-7};

double rising_error(double t) {
    return std::expm1(-t / fast) / std::expm1(-t / slow) - 1.0;
}

Trace rising_trace(int rows) {
    return trace_of(
        graded_time(rows, duration), rising(resin_final, slow), rising(hardener_final, fast), 7e-5);
}

}  // namespace

TEST_CASE("two exponential flows lead by the difference of their time constants", "[lead]") {
    // V = q (t - T (1 - exp(-t/T))): lead = q_h [T_r (1 - exp(-t/T_r)) - T_h (1 - exp(-t/T_h))]
    const Trace trace = rising_trace(400);
    const ShotMeasures shot = measure(trace,
                                      trace.shots[0],
                                      steady_of(ratio, hardener_final),
                                      mixer_of(Residence::plug),
                                      exact_target);
    const double lead = hardener_final * (-slow * std::expm1(-duration / slow) +
                                          fast * std::expm1(-duration / fast));
    CHECK_THAT(shot.net_lead, WithinRel(lead, 1e-9));
    CHECK_THAT(net_lead(trace, trace.shots[0], ratio), WithinRel(lead, 1e-9));
    CHECK_THAT(shot.peak_lead, WithinRel(lead, 1e-9));  // it only rises
    CHECK(shot.peak_lag == 0.0);
    CHECK_THAT(shot.swing, WithinRel(lead, 1e-9));
    CHECK_THAT(shot.lead_time, WithinRel(lead / hardener_final, 1e-9));
    CHECK_THAT(shot.resin_volume, WithinRel(rising(resin_final, slow).volume(duration), 1e-9));
    CHECK_THAT(shot.hardener_volume,
               WithinRel(rising(hardener_final, fast).volume(duration), 1e-9));
    CHECK(shot.resin_pushed_back == 0.0);
    CHECK(shot.hardener_pushed_back == 0.0);
    CHECK(shot.resin_after_close == 0.0);
    CHECK(shot.resin_closed_pressure == 30e5);
    CHECK(shot.resin_closed_head == 31e5);
    CHECK(shot.hardener_closed_pressure == 20e5);
    CHECK(shot.hardener_closed_head == 21e5);
    CHECK(shot.open_time == 100.0);
    CHECK_THAT(shot.duration, WithinRel(duration, 1e-12));
}

TEST_CASE("off-ratio volume, S and surplus at the inlet agree with quadrature", "[lead]") {
    const Trace trace = rising_trace(400);
    const Known resin = rising(resin_final, slow);
    const Known hardener = rising(hardener_final, fast);
    const ShotMeasures shot = measure(trace,
                                      trace.shots[0],
                                      steady_of(ratio, hardener_final),
                                      mixer_of(Residence::plug),
                                      exact_target);
    const double back = root([](double t) { return rising_error(t) - tolerance; }, 0.05, 2.0);
    const double volume = resin.volume(back) + hardener.volume(back);
    const double soft = integrate(
        [&](double t) {
            const double e = t > 0.0 ? std::min(1.0, rising_error(t)) : 1.0;
            return e * e / (e * e + tolerance * tolerance) * (resin.flow(t) + hardener.flow(t));
        },
        0.0,
        duration);
    const double most = ratio * (1.0 + tolerance);
    const double surplus = hardener.volume(back) - most * resin.volume(back);
    // 3200 pieces of order 2: a few 1e-6 of the shot
    CHECK_THAT(shot.inlet.volume, WithinRel(volume, 1e-4));
    CHECK(shot.inlet.start == 0.0);
    CHECK_THAT(shot.inlet.end, WithinRel(volume, 1e-4));
    CHECK_THAT(shot.inlet.soft_volume, WithinRel(soft, 1e-4));
    CHECK_THAT(shot.inlet.surplus, WithinRel(surplus, 1e-4));
    CHECK(shot.inlet.missing == 0.0);
    CHECK(shot.inlet.highest_error == 1.0);  // 3 at the very start, capped
    CHECK_THAT(shot.inlet.lowest_error, WithinAbs(0.0, 1e-6));
    const Mixer mixer = mixer_of(Residence::plug);
    CHECK_THAT(shot.travel_length, WithinRel(volume / (0.82 * 0.25 * pi * 0.013 * 0.013), 1e-4));
    // a plug delivers the same one hold-up later (common practice, no source)
    CHECK_THAT(shot.outlet.volume, WithinRel(volume, 1e-4));
    CHECK_THAT(shot.outlet.end, WithinRel(volume + hold_up(mixer), 1e-4));
    CHECK_THAT(shot.outlet.start, WithinRel(hold_up(mixer), 1e-4));
    CHECK_THAT(shot.outlet.soft_volume, WithinRel(soft, 1e-4));
    CHECK_THAT(shot.outlet.surplus, WithinRel(surplus, 1e-4));
    CHECK(shot.outlet.soft_volume == shot.outlet_plug.soft_volume);
    // averaged over a moving twentieth of the shot: surplus = 1/R integral of
    // max(0, h - most r) over the middles of the piece, on-ratio liquid before the shot
    Target coarse = exact_target;
    coarse.resolve = 0.05;
    const ShotMeasures averaged =
        measure(trace, trace.shots[0], steady_of(ratio, hardener_final), mixer, coarse);
    const double entered = resin.volume(duration) + hardener.volume(duration);
    const double window = 0.05 * entered;
    const auto hardener_at = [&](double v) {
        if (v <= 0.0) {
            return v * ratio / (1.0 + ratio);
        }
        const auto reached = [&](double t) { return resin.volume(t) + hardener.volume(t) - v; };
        return hardener.volume(root(reached, 0.0, 2.0 * duration));
    };
    const auto beyond = [&](double middle) {
        const double h = hardener_at(middle + 0.5 * window) - hardener_at(middle - 0.5 * window);
        return std::max(0.0, h - most * (window - h)) / window;
    };
    CHECK_THAT(averaged.inlet.surplus, WithinRel(integrate(beyond, 0.0, 0.5 * entered), 1e-4));
    CHECK(averaged.inlet.surplus < 0.9 * surplus);
    CHECK(averaged.inlet.volume == shot.inlet.volume);
}

TEST_CASE("the dispersed outlet agrees with quadrature of the inlet", "[lead]") {
    const Trace trace = rising_trace(400);
    const Known resin = rising(resin_final, slow);
    const Known hardener = rising(hardener_final, fast);
    const Mixer mixer = mixer_of(Residence::dispersion, 40.0);
    const ShotMeasures shot =
        measure(trace, trace.shots[0], steady_of(ratio, hardener_final), mixer, exact_target);
    // phi_out(W) = phi_s + integral of (q_h - phi_s q) E((W - V(t))/H)/H dt, E of the inverse
    // Gaussian in closed form (kreft1978)
    const double held = hold_up(mixer);
    const double fraction = ratio / (1.0 + ratio);
    const auto density = [](double theta) {
        return theta <= 0.0 ? 0.0
                            : std::sqrt(40.0 / (4.0 * pi * theta * theta * theta)) *
                                  std::exp(-40.0 * (1.0 - theta) * (1.0 - theta) / (4.0 * theta));
    };
    const auto error_at = [&](double w) {
        const auto arriving = [&](double t) {
            const double entered = resin.volume(t) + hardener.volume(t);
            const double ahead = hardener.flow(t) - fraction * (resin.flow(t) + hardener.flow(t));
            return ahead * density((w - entered) / held) / held;
        };
        const double phi =
            fraction + integrate(arriving, 0.0, 0.5) + integrate(arriving, 0.5, duration);
        return phi / (1.0 - phi) / ratio - 1.0;
    };
    const double shot_volume = resin.volume(duration) + hardener.volume(duration);
    const double last = shot_volume + 2.0 * held;
    const auto outside = [&](double w) { return error_at(w) - tolerance; };
    const double enter = root(outside, 0.3 * held, held);
    const double leave = root(outside, held, 2.0 * held);
    CHECK_THAT(shot.outlet.start, WithinRel(enter, 1e-4));
    CHECK_THAT(shot.outlet.end, WithinRel(leave, 1e-4));
    CHECK_THAT(shot.outlet.volume, WithinRel(leave - enter, 1e-3));
    const auto soft = [&](double w) {
        const double e = error_at(w);
        return e * e / (e * e + tolerance * tolerance);
    };
    double expected = 0.0;
    constexpr int strips = 400;  // Simpson
    for (int i = 0; i <= strips; ++i) {
        const double weight = (i == 0 || i == strips) ? 1.0 : (i % 2 == 1 ? 4.0 : 2.0);
        expected += weight * soft(last * i / strips) * last / strips / 3.0;
    }
    CHECK_THAT(shot.outlet.soft_volume, WithinRel(expected, 1e-3));
    // the light answer is the full one
    const OffRatio light = outlet_measures(
        trace, trace.shots[0], steady_of(ratio, hardener_final), mixer, exact_target);
    CHECK(light.soft_volume == shot.outlet.soft_volume);
    CHECK(light.surplus == shot.outlet.surplus);
    CHECK(shot.outlet.soft_volume != shot.outlet_plug.soft_volume);
    CHECK(shot.outlet_dispersed.soft_volume == measure(trace,
                                                       trace.shots[0],
                                                       steady_of(ratio, hardener_final),
                                                       mixer_of(Residence::dispersion, 100.0),
                                                       exact_target)
                                                   .outlet.soft_volume);
}

TEST_CASE("a tip lets the middle of what comes out first", "[lead]") {
    // liquid before and after the shot as it entered; plug, then a laminar tube: its first liquid
    // leaves after half the tube (levenspiel1999, ch. 15), and no hardener is lost on the way
    const Trace trace = rising_trace(80);
    const Composition inlet = inlet_composition(trace, trace.shots[0], ratio);
    Mixer mixer = mixer_of(Residence::plug);
    const ResidenceTime plug(Residence::plug, 0.0);
    const Composition without = outlet_composition(inlet, plug, mixer);
    mixer.tip = Tip{.bore = 0.006, .length = 0.1};
    const double held = hold_up(*mixer.tip);
    const Composition with = outlet_composition(inlet, plug, mixer);
    const double before = ratio_error(without, ratio).maxCoeff();
    const double behind = ratio_error(with, ratio).maxCoeff();
    CHECK(behind < 0.9 * before);
    const VectorXd error = ratio_error(with, ratio);
    Index first = 0;
    while (std::abs(error[first]) < 1e-6) {
        ++first;
    }
    const double cell = with.volume[1] - with.volume[0];
    CHECK_THAT(with.volume[first], WithinAbs(hold_up(mixer) + 0.5 * held, 2.0 * cell));
    const auto total = [](const Composition& c) {
        return c.hardener[c.hardener.size() - 1] - c.hardener[0];
    };
    const double follows =
        with.volume[with.volume.size() - 1] - without.volume[without.volume.size() - 1];
    const double on_ratio = ratio / (1.0 + ratio);
    const double surplus =
        total(without) - on_ratio * (without.volume[without.volume.size() - 1] - without.volume[0]);
    // what is still in the tip falls as 1/(4 theta): here at most 1/40 of the tip's share
    CHECK_THAT(total(with), WithinAbs(total(without) + on_ratio * follows, 0.05 * surplus));
    CHECK(surplus > 1e-8);
}

TEST_CASE("extremes between rows and liquid pushed back are found", "[lead]") {
    // lead = L sin(w t) exactly; hardener alone starts backwards
    const double amplitude = 0.3e-6;
    const double frequency = 2.0 * pi / 2.0;
    const Known resin = rising(resin_final, slow);
    const Known hardener = plus_sine(resin, ratio, -amplitude, frequency);
    const VectorXd time = VectorXd::LinSpaced(38, 0.0, duration);  // no row at an extreme
    const Trace trace = trace_of(time, resin, hardener, 3e-5);
    const ShotMeasures shot = measure(trace,
                                      trace.shots[0],
                                      steady_of(ratio, hardener_final),
                                      mixer_of(Residence::plug),
                                      exact_target);
    const double step = duration / 37.0;
    const double hermite = amplitude * std::pow(frequency * step, 4) / 384.0;  // its error bound
    CHECK_THAT(shot.peak_lead, WithinAbs(amplitude, hermite));
    CHECK_THAT(shot.peak_lag, WithinAbs(-amplitude, hermite));
    CHECK_THAT(shot.swing, WithinAbs(2.0 * amplitude, 2.0 * hermite));
    // three half waves: sin(3 pi) = 0 at the close command
    CHECK_THAT(shot.net_lead, WithinAbs(0.0, 1e-18));
    const double turning = root([&](double t) { return hardener.flow(t); }, 1e-3, 0.4);
    CHECK(hardener.volume(turning) < 0.0);
    const double rise = hardener_final * std::pow(step, 4) / std::pow(slow, 3) / 384.0;
    CHECK_THAT(shot.hardener_pushed_back, WithinAbs(-hardener.volume(turning), hermite + rise));
    CHECK(shot.resin_pushed_back == 0.0);
}

TEST_CASE("volumes between rows converge at order four", "[lead][order]") {
    const Known resin = rising(resin_final, slow);
    const Known hardener = plus_sine(resin, ratio, 0.2e-6, 5.0);
    std::vector<double> worst;
    for (const int steps : {20, 40, 80, 160}) {
        const Trace trace =
            trace_of(VectorXd::LinSpaced(steps + 1, 0.0, duration), resin, hardener);
        const LeadCurve curve = lead_curve(trace, trace.shots[0], ratio, 5);
        REQUIRE(curve.time.size() == 5 * steps + 1);
        double error = 0.0;
        for (Index i = 0; i < curve.time.size(); ++i) {
            const double t = curve.time[i];
            error = std::max(error, std::abs(curve.resin[i] - resin.volume(t)));
            CHECK_THAT(curve.lead[i], WithinAbs(curve.hardener[i] - ratio * curve.resin[i], 1e-19));
        }
        worst.push_back(error);
    }
    for (std::size_t i = 0; i + 1 < worst.size(); ++i) {
        CHECK_THAT(std::log2(worst[i] / worst[i + 1]), WithinAbs(4.0, 0.5));
    }
    CHECK_THAT(std::log2(worst[2] / worst[3]), WithinAbs(4.0, 0.2));
}

TEST_CASE("rows that repeat a time carry a jump of flow", "[lead]") {
    // steady flow; the hardener runs double for the first 0.1 s, then jumps back
    const double jump = 0.1;
    const Known resin{[](double t) { return resin_final * t; }, [](double) { return resin_final; }};
    Trace trace = trace_of(VectorXd{{0.0, 0.0, jump, jump, 1.0, 1.2}}, resin, resin);
    trace.hardener.volume =
        VectorXd{{0.0, 0.0, 2.0 * jump, 2.0 * jump, 1.0 + jump, 1.25 + jump}} * hardener_final;
    trace.hardener.flow = VectorXd{{0.0, 2.0, 2.0, 1.0, 1.0, 0.5}} * hardener_final;
    trace.shots[0].close = 4;
    const ShotMeasures shot = measure(trace,
                                      trace.shots[0],
                                      steady_of(ratio, hardener_final),
                                      mixer_of(Residence::plug),
                                      exact_target);
    CHECK_THAT(shot.net_lead, WithinRel(hardener_final * jump, 1e-12));
    CHECK_THAT(shot.peak_lead, WithinRel(hardener_final * jump, 1e-12));
    CHECK_THAT(shot.resin_after_close, WithinRel(0.2 * resin_final, 1e-12));
    CHECK_THAT(shot.hardener_after_close, WithinRel(0.25 * hardener_final, 1e-12));
    CHECK(lead_curve(trace, trace.shots[0], ratio).time.size() == 1 + 2 * 8);
    // e = 1 for 0.1 s; the edge itself is known to the width of its pieces
    const double rich = jump * (resin_final + 2.0 * hardener_final);
    const double piece = (1.0 - jump) / 8.0 * (resin_final + hardener_final);
    CHECK_THAT(shot.inlet.volume, WithinAbs(rich, 0.5 * piece));
    CHECK_THAT(shot.inlet.soft_volume, WithinRel(rich / (1.0 + tolerance * tolerance), 1e-9));
    CHECK_THAT(shot.inlet.surplus,
               WithinRel(jump * hardener_final * (1.0 - tolerance), 1e-5));  // 2 - 1.05
}

TEST_CASE("dispersion settles a short spike where its peak has spread enough", "[lead]") {
    // a volume m of hardener on top of the steady flow spreads as m (1 - phi_s) E, so that phi
    // peaks at phi_s + m (1 - phi_s) max E/(z H); density and mode of the inverse Gaussian in
    // closed form (chhikara1989)
    const double width = 1e-4;  // of the shot's one second
    const Known resin{[](double t) { return resin_final * t; }, [](double) { return resin_final; }};
    Trace trace = trace_of(VectorXd{{0.0, width, width, 1.0}}, resin, resin);
    trace.hardener.volume =
        VectorXd{{0.0, 400.0 * width, 400.0 * width, 1.0 + 399.0 * width}} * hardener_final;
    trace.hardener.flow = VectorXd{{400.0, 400.0, 1.0, 1.0}} * hardener_final;
    const Target target{.ratio = ratio, .tolerance_high = 0.2, .tolerance_low = 0.2};
    const Mixer mixer = mixer_of(Residence::plug);
    const double held = hold_up(mixer);
    const double fraction = ratio / (1.0 + ratio);
    const double added = 399.0 * width * hardener_final;  // volume of hardener on top
    const double limit = ratio * 1.2 / (1.0 + ratio * 1.2);
    const auto peak = [&](double z, double peclet) {
        const double lambda = 0.5 * peclet * z;  // inverse Gaussian of Pe z: mode and density
        const double mode = std::sqrt(1.0 + std::pow(1.5 / lambda, 2)) - 1.5 / lambda;
        const double density = std::sqrt(lambda / (2.0 * pi * std::pow(mode, 3))) *
                               std::exp(-lambda * std::pow(mode - 1.0, 2) / (2.0 * mode));
        return fraction + added * (1.0 - fraction) * density / (z * held);
    };
    const double expected = root([&](double z) { return peak(z, 100.0) - limit; }, 1e-2, 1.0);
    const ShotMeasures shot =
        measure(trace, trace.shots[0], steady_of(ratio, hardener_final), mixer, target);
    CHECK(expected > 0.05);
    CHECK(expected < 0.95);
    CHECK_THAT(shot.settling_distance, WithinRel(expected * mixer.length, 0.01));
    // the case's own dispersion where it has one
    const double sooner = root([&](double z) { return peak(z, 30.0) - limit; }, 1e-2, 1.0);
    CHECK_THAT(measure(trace,
                       trace.shots[0],
                       steady_of(ratio, hardener_final),
                       mixer_of(Residence::dispersion, 30.0),
                       target)
                   .settling_distance,
               WithinRel(sooner * mixer.length, 0.01));
    // leaves before it settles; enters settled
    const Target strict{.ratio = ratio, .tolerance_high = 0.02, .tolerance_low = 0.02};
    CHECK(std::isnan(measure(trace, trace.shots[0], steady_of(ratio, hardener_final), mixer, strict)
                         .settling_distance));
    const Target wide{.ratio = ratio, .tolerance_high = 1.5, .tolerance_low = 0.9};
    CHECK(measure(trace, trace.shots[0], steady_of(ratio, hardener_final), mixer, wide)
              .settling_distance == 0.0);
    // all of a long rich shot is off ratio: the plug fills the mixer
    CHECK(measure(trace,
                  trace.shots[0],
                  steady_of(2.0 * ratio, hardener_final),
                  {.bore = 0.005, .length = 0.1, .blend_viscosity = 9.0},
                  strict)
              .travel_length <= 0.1);
}

TEST_CASE("swapping the streams swaps lead and lag", "[lead][symmetry]") {
    // lead' = V_r - V_h/r_s = -lead/r_s; hardener beyond (1 + tol) is resin short of 1/(1 + tol)
    const Known resin = rising(resin_final, slow);
    const Known hardener = plus_sine(rising(hardener_final, fast), 1.0, 0.3e-6, 4.0);
    const VectorXd time = graded_time(600, duration);
    const Trace one = trace_of(time, resin, hardener);
    const Trace other = trace_of(time, hardener, resin);
    const double high = 0.06;
    const double low = 0.03;
    const Target target{
        .ratio = ratio, .tolerance_high = high, .tolerance_low = low, .resolve = 0.01};
    const Target swapped{.ratio = 1.0 / ratio,
                         .tolerance_high = 1.0 / (1.0 - low) - 1.0,
                         .tolerance_low = 1.0 - 1.0 / (1.0 + high),
                         .resolve = 0.01};
    const Mixer mixer = mixer_of(Residence::dispersion, 60.0);
    const ShotMeasures a =
        measure(one, one.shots[0], steady_of(ratio, hardener_final), mixer, target);
    const ShotMeasures b =
        measure(other, other.shots[0], steady_of(1.0 / ratio, resin_final), mixer, swapped);
    CHECK(a.peak_lag < 0.0);
    CHECK_THAT(b.net_lead, WithinRel(-a.net_lead / ratio, 1e-10));
    CHECK_THAT(b.peak_lead, WithinRel(-a.peak_lag / ratio, 1e-10));
    CHECK_THAT(b.peak_lag, WithinRel(-a.peak_lead / ratio, 1e-10));
    CHECK_THAT(b.swing, WithinRel(a.swing / ratio, 1e-10));
    for (const auto& [before, after] :
         {std::pair{a.inlet, b.inlet}, std::pair{a.outlet, b.outlet}}) {
        CHECK_THAT(after.missing, WithinRel(before.surplus / (ratio * (1.0 + high)), 1e-9));
        CHECK_THAT(after.surplus, WithinRel(before.missing / (ratio * (1.0 - low)), 1e-9));
        // e and 1/(1 + e) - 1 run straight between different points: order 2
        CHECK_THAT(after.volume, WithinRel(before.volume, 2e-3));
        CHECK_THAT(after.end, WithinRel(before.end, 2e-3));
    }
}

TEST_CASE("measures scale with the units of length and time", "[lead][symmetry]") {
    std::mt19937 random(4711);
    std::uniform_real_distribution<double> exponent(-3.0, 3.0);
    const Known resin = rising(resin_final, slow);
    const Known hardener = plus_sine(rising(hardener_final, fast), 1.0, -0.02e-6, 40.0);
    const Trace trace = trace_of(graded_time(120, duration), resin, hardener, 1e-5);
    const Target target{.ratio = ratio, .tolerance_high = 0.2, .tolerance_low = 0.1};
    const ShotMeasures one = measure(trace,
                                     trace.shots[0],
                                     steady_of(ratio, hardener_final),
                                     mixer_of(Residence::dispersion, 50.0),
                                     target);
    REQUIRE(one.settling_distance > 0.0);
    for (int trial = 0; trial < 8; ++trial) {
        const double length = std::pow(10.0, exponent(random));
        const double time = std::pow(10.0, exponent(random));
        const double volume = length * length * length;
        CAPTURE(trial, length, time);
        Trace scaled = trace;
        scaled.time *= time;
        for (StreamTrace* stream : {&scaled.resin, &scaled.hardener}) {
            stream->volume *= volume;
            stream->flow *= volume / time;
        }
        Mixer mixer = mixer_of(Residence::dispersion, 50.0);
        mixer.bore *= length;
        mixer.length *= length;
        const ShotMeasures other = measure(scaled,
                                           scaled.shots[0],
                                           steady_of(ratio, hardener_final * volume / time),
                                           mixer,
                                           target);
        const double close = 1e-8;  // round-off of volumes against the least piece
        CHECK_THAT(other.net_lead, WithinRel(one.net_lead * volume, close));
        CHECK_THAT(other.peak_lead, WithinRel(one.peak_lead * volume, close));
        CHECK_THAT(other.peak_lag, WithinRel(one.peak_lag * volume, close));
        CHECK_THAT(other.lead_time, WithinRel(one.lead_time * time, close));
        CHECK_THAT(other.duration, WithinRel(one.duration * time, close));
        CHECK_THAT(other.hardener_pushed_back, WithinRel(one.hardener_pushed_back * volume, close));
        CHECK_THAT(other.travel_length, WithinRel(one.travel_length * length, close));
        CHECK_THAT(other.settling_distance, WithinRel(one.settling_distance * length, 1e-3));
        for (const auto& [small, large] :
             {std::pair{one.inlet, other.inlet},
              std::pair{one.outlet, other.outlet},
              std::pair{one.outlet_plug, other.outlet_plug},
              std::pair{one.outlet_dispersed, other.outlet_dispersed}}) {
            CHECK_THAT(large.volume, WithinRel(small.volume * volume, close));
            CHECK_THAT(large.soft_volume, WithinRel(small.soft_volume * volume, close));
            CHECK_THAT(large.surplus, WithinRel(small.surplus * volume, close));
            CHECK_THAT(large.missing, WithinRel(small.missing * volume, close));
            CHECK_THAT(large.highest_error, WithinRel(small.highest_error, close));
        }
    }
}

TEST_CASE("nothing enters while both stand still, and what goes back and forth is kept", "[lead]") {
    // both streams wait 0.1 s, surge, come back below where they were, and go on; or end backwards
    const auto wave = [](double end_slope) {
        return [=](double t) {
            const double s = std::max(0.0, t - 0.1);
            return end_slope * s + 0.3 * std::sin(4.0 * pi * s) * s;
        };
    };
    const auto slope = [](double end_slope) {
        return [=](double t) {
            const double s = std::max(0.0, t - 0.1);
            return t > 0.1 ? end_slope + 0.3 * std::sin(4.0 * pi * s) +
                                 0.3 * s * 4.0 * pi * std::cos(4.0 * pi * s)
                           : 0.0;
        };
    };
    for (const double end : {0.75, 0.97, 1.1, 1.3}) {
        const Known resin{wave(0.5), slope(0.5)};
        const Known hardener{wave(0.4), slope(0.4)};
        const Trace trace = trace_of(VectorXd::LinSpaced(200, 0.0, end), resin, hardener, 0.25);
        const Composition inlet = inlet_composition(trace, trace.shots[0], 0.8);
        const Index last = inlet.volume.size() - 1;
        CAPTURE(end, last);
        const double total = resin.volume(end) + hardener.volume(end);
        REQUIRE(total > 0.0);
        CHECK((inlet.volume.tail(last) - inlet.volume.head(last)).minCoeff() > 0.0);
        CHECK_THAT(inlet.volume[last], WithinAbs(total, 1e-14));
        // what went back into either passage and is still there stands in place of own liquid
        const MixerInlet way = mixer_inlet(trace, {}, 0.8);
        const double standing = way.left[1] - way.left_hardener[0] - way.left_hardener[1];
        CHECK_THAT(inlet.hardener[last], WithinAbs(hardener.volume(end) + standing, 1e-13));
        CHECK(way.slug[0] > 0.01);
        CHECK_THAT(inlet.before, WithinRel(0.8 / 1.8, 1e-14));
        CHECK(inlet.after == inlet.before);
    }
}

TEST_CASE("a steady offset is no lead, but all of it is off ratio", "[lead]") {
    // delivered 8 % rich throughout: lead is counted against what is delivered, e against what is
    // asked for, and the liquid before and after the shot is as rich
    const double delivered = 1.08 * ratio;
    const Known resin{[](double t) { return resin_final * t; }, [](double) { return resin_final; }};
    const Known hardener{[=](double t) { return delivered * resin_final * t; },
                         [=](double) { return delivered * resin_final; }};
    const Trace trace = trace_of(VectorXd::LinSpaced(9, 0.0, duration), resin, hardener);
    const Mixer mixer = mixer_of(Residence::dispersion);
    const ShotMeasures shot = measure(
        trace, trace.shots[0], steady_of(delivered, delivered * resin_final), mixer, exact_target);
    CHECK_THAT(shot.net_lead, WithinAbs(0.0, 1e-18));
    CHECK_THAT(shot.swing, WithinAbs(0.0, 1e-18));
    const double entered = duration * resin_final * (1.0 + delivered);
    CHECK_THAT(shot.inlet.volume, WithinRel(entered, 1e-12));
    for (const OffRatio& outlet : {shot.outlet, shot.outlet_plug}) {
        CHECK(outlet.start == 0.0);
        CHECK_THAT(outlet.volume, WithinRel(entered + 2.0 * hold_up(mixer), 1e-12));
        CHECK_THAT(outlet.highest_error, WithinRel(0.08, 1e-10));
        CHECK_THAT(outlet.lowest_error, WithinRel(0.08, 1e-10));
    }
    CHECK(shot.travel_length == std::min(1.0, shot.inlet.volume / hold_up(mixer)) * mixer.length);
    CHECK(std::isnan(shot.settling_distance));
}

TEST_CASE("a shot without volume has no off-ratio liquid", "[lead]") {
    const Known nothing{[](double) { return 0.0; }, [](double) { return 0.0; }};
    const Known backwards{[](double t) { return -1e-6 * t; }, [](double) { return -1e-6; }};
    Steady still{};
    for (const Known& known : {nothing, backwards}) {
        const Trace trace = trace_of(VectorXd::LinSpaced(5, 0.0, 1.0), known, nothing);
        const ShotMeasures shot =
            measure(trace, trace.shots[0], still, mixer_of(Residence::dispersion), exact_target);
        CHECK_THAT(shot.net_lead, WithinAbs(-ratio * known.volume(1.0), 1e-20));
        CHECK(std::isnan(shot.lead_time));
        for (const OffRatio& part :
             {shot.inlet, shot.outlet, shot.outlet_plug, shot.outlet_dispersed}) {
            CHECK(part.volume == 0.0);
            CHECK(part.soft_volume == 0.0);
            CHECK(part.surplus == 0.0);
            CHECK(std::isnan(part.start));
            CHECK(std::isnan(part.end));
        }
        CHECK(shot.travel_length == 0.0);
        CHECK(shot.settling_distance == 0.0);
        CHECK_THAT(shot.resin_pushed_back, WithinAbs(-known.volume(1.0), 1e-20));
    }
}

TEST_CASE("shots that are not in the trace are refused", "[lead][errors]") {
    const Trace trace = rising_trace(10);
    CHECK_THROWS_AS(lead_curve(trace, {.step = 0, .open = 0, .close = 9, .shut = 10}, ratio),
                    std::invalid_argument);
    CHECK_THROWS_AS(net_lead(trace, {.step = 0, .open = 5, .close = 4, .shut = 9}, ratio),
                    std::invalid_argument);
    CHECK_THROWS_AS(lead_curve(trace, trace.shots[0], ratio, 0), std::domain_error);
}

TEST_CASE("a run is measured shot by shot against the steady state", "[lead]") {
    // invented machine: held shots through long hoses
    const auto stream = [](double density,
                           double viscosity,
                           double free_gas,
                           double bore,
                           double hose,
                           double expansion) {
        return Stream{.liquid = {.density = density, .bulk_modulus = 2e9, .free_gas = free_gas},
                      .rheology = {.consistency = viscosity},
                      .cylinder = {.bore = bore, .temperature = 298.15},
                      .line = {{.name = "hose",
                                .bore = hose,
                                .length = 4.0,
                                .temperature = 298.15,
                                .wall_expansion = expansion,
                                .cells = 8}},
                      .throttle = {.resistance = 2e9},
                      .shutoff = {.resistance = 2e9, .open_time = 0.05, .close_time = 0.05}};
    };
    const Machine machine{.resin = stream(1700.0, 20.0, 0.015, 0.070, 0.016, 3e-13),
                          .hardener = stream(1050.0, 0.18, 0.0002, 0.02619, 0.0048, 2e-14),
                          .shaft = {.stroke = 0.2, .position = 0.06, .mass = 12.0},
                          .drive = {.force = 4600.0, .rise_time = 0.25},
                          .mixer = mixer_of(Residence::plug)};
    const Sequence sequence{.steps = {{StepKind::dispense_time, 2.0}, {StepKind::dwell, 10.0}},
                            .repeat = 3,
                            .start = {}};
    const Target target{.ratio = ratio, .tolerance_high = 0.05, .tolerance_low = 0.03};
    const Trace trace = simulate(machine, sequence);
    REQUIRE(trace.status == Status::ok);
    const RunMeasures run = measure(trace, machine, target);
    REQUIRE(run.shots.size() == 3);
    const Steady steady = steady_state(machine);
    REQUIRE(steady.flows);
    double resin = 0.0;
    double hardener = 0.0;
    for (std::size_t i = 0; i < 3; ++i) {
        CAPTURE(i);
        const ShotMeasures& shot = run.shots[i];
        const ShotMeasures alone = measure(trace, trace.shots[i], steady, machine.mixer, target);
        // the steady ratio is known to the tolerance of its solver
        CHECK_THAT(shot.net_lead, WithinAbs(alone.net_lead, 1e-9 * shot.hardener_volume));
        CHECK_THAT(shot.swing, WithinAbs(alone.swing, 1e-9 * shot.hardener_volume));
        // 2 s, then 0.05 s to close, then 10 s
        CHECK_THAT(shot.open_time, WithinAbs(12.05 * static_cast<double>(i), 1e-9));
        CHECK_THAT(shot.duration, WithinAbs(2.0, 1e-9));
        resin += shot.resin_volume + shot.resin_after_close;
        hardener += shot.hardener_volume + shot.hardener_after_close;
    }
    // nothing passes but in shots and while the shut-offs close
    const Index last = trace.time.size() - 1;
    CHECK_THAT(resin, WithinRel(trace.resin.volume[last], 1e-12));
    CHECK_THAT(hardener, WithinRel(trace.hardener.volume[last], 1e-12));
    // a resin that holds gas lags from a relaxed start (common practice, no source); held and
    // closed, the cylinders stand under the drive's pressure when the next shot opens
    CHECK(run.shots[0].net_lead > 0.0);
    CHECK(run.shots[0].resin_closed_pressure == 0.0);
    CHECK(run.shots[2].resin_closed_pressure > 5e5);
    CHECK(run.shots[2].swing < run.shots[0].swing);
}
