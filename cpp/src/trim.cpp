#include "evenfront/trim.hpp"

#include <algorithm>
#include <array>
#include <boost/math/tools/minima.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <functional>
#include <optional>
#include <sstream>
#include <utility>

#include "evenfront/throttle.hpp"
#include "parallel.hpp"
#include "trials.hpp"

namespace evenfront {

namespace {

constexpr double null_goal = 1e-9;    // |net lead| of an answer [m^3]
constexpr double null_close = 1e-10;  // at which the search for it rests
constexpr std::size_t resin_grid = 9;
constexpr std::size_t hardener_grid = 17;
constexpr std::size_t curve_points = 21;

double of(const Settings& settings, int side) {
    return side == 0 ? settings.resin : settings.hardener;
}

double summed_back_pressure(const Trial& trial) {
    return trial.resin_back_pressure + trial.hardener_back_pressure;
}

// One side's setting as a coordinate that rises as the throttle closes, the logarithm of its
// resistance. A resistance that may be nothing is counted from that of the shut-off.
class Axis {
public:
    Axis(const Stream& stream, bool fixed) : throttle_(stream.throttle) {
        const Throttle& t = throttle_;
        const bool resistance = t.kind == ThrottleKind::resistance;
        const double written = setting(t);
        const bool ranged = t.highest > t.lowest;
        const double open = fixed || !ranged ? written : (resistance ? t.lowest : t.highest);
        const double closed = fixed || !ranged ? written : (resistance ? t.highest : t.lowest);
        offset_ = resistance && open <= 0.0 ? stream.shutoff.resistance : 0.0;
        low = coordinate(open);
        high = coordinate(closed);
    }

    [[nodiscard]] double coordinate(double setting) const {
        return log_resistance(with_setting(throttle_, setting + offset_));
    }
    [[nodiscard]] double setting_at(double u) const {
        return std::max(setting(with_log_resistance(throttle_, u)) - offset_, 0.0);
    }
    [[nodiscard]] bool fixed() const { return !(high > low); }

    double low = 0.0;
    double high = 0.0;

private:
    Throttle throttle_;
    double offset_ = 0.0;
};

using Point = std::array<double, 2>;  // coordinates of both sides

class Search {
public:
    Search(const Machine& machine,
           const Sequence& sequence,
           const Target& target,
           const TrimOptions& options,
           const Numerics& numerics)
        : machine_(machine),
          target_(target),
          options_(options),
          trials_(machine, sequence, target, options, numerics),
          axis_{Axis(machine.resin, options.fix_resin),
                Axis(machine.hardener, options.fix_hardener)},
          before_(
              trials_.run({setting(machine.resin.throttle), setting(machine.hardener.throttle)})) {}

    [[nodiscard]] Trial run_at(const Point& u) {
        return trials_.run(Settings{axis_[0].setting_at(u[0]), axis_[1].setting_at(u[1])});
    }

    std::vector<Trial> run_all(const std::vector<Point>& points) {
        std::vector<Trial> trials(points.size());
        detail::parallel_for(
            points.size(), options_.threads, [&](std::size_t i) { trials[i] = run_at(points[i]); });
        return trials;
    }

    // Shuts out what the flow or the back pressure rule out on one side alone: both fall on one
    // side of a setting, so steady states find it.
    void narrow() {
        const Point open{axis_[0].low, axis_[1].low};
        for (int side = 0; side < 2; ++side) {
            Axis& axis = axis_[index(side)];
            if (axis.fixed()) {
                continue;
            }
            const auto margin = [&](double u) {
                Point at = open;
                at[index(side)] = u;
                return steady_margin(at, side);
            };
            if (margin(axis.high) >= 0.0 || !(margin(axis.low) > 0.0)) {
                continue;
            }
            std::uintmax_t turns = 40;
            const auto close = [](double a, double b) { return b - a < 1e-4; };
            axis.high =
                boost::math::tools::toms748_solve(margin, axis.low, axis.high, close, turns).first;
        }
    }

    void scan() {
        for (int side = 0; side < 2; ++side) {
            const Axis& axis = axis_[index(side)];
            const std::size_t n = axis.fixed() ? 1 : (side == 0 ? resin_grid : hardener_grid);
            for (std::size_t i = 0; i < n; ++i) {
                const double share =
                    n == 1 ? 0.0 : static_cast<double>(i) / static_cast<double>(n - 1);
                lines_[index(side)].push_back(axis.low + share * (axis.high - axis.low));
            }
        }
        std::vector<Point> points;
        for (const double r : lines_[0]) {
            for (const double h : lines_[1]) {
                points.push_back({r, h});
            }
        }
        grid_ = run_all(points);
    }

    [[nodiscard]] Answer answer(Objective objective) {
        Answer a = objective == Objective::null_lead ? null_lead() : least(objective);
        a.objective = objective;
        const auto [low, high] = net_lead_range();
        a.lowest_net_lead = low;
        a.highest_net_lead = high;
        a.fold = std::numeric_limits<double>::quiet_NaN();
        if (!a.feasible) {
            a.trial = a.band_open = a.band_closed = before_;
        }
        return a;
    }

    // 21 settings of one side, the other as in the answer.
    [[nodiscard]] std::vector<Trial> curve(const Answer& answer, int side) {
        std::vector<Point> points;
        const Axis& axis = axis_[index(side)];
        const std::size_t n = axis.fixed() ? 1 : curve_points;
        for (std::size_t i = 0; i < n; ++i) {
            Point u = coordinates(answer.trial.settings);
            u[index(side)] = axis.low + (axis.high - axis.low) * static_cast<double>(i) /
                                            static_cast<double>(curve_points - 1);
            points.push_back(u);
        }
        return run_all(points);
    }

    // Band and fold of an answer along one side, from the curve through it.
    void surround(Answer& answer, const std::vector<Trial>& curve, int side) {
        answer.band_open = answer.band_closed = answer.trial;
        if (!answer.feasible || curve.size() < 2) {
            return;
        }
        const double best = objective_value(answer.trial, answer.objective);
        const double limit =
            best + 0.1 * std::max(objective_value(before_, answer.objective) - best, 0.0);
        for (const int direction : {-1, 1}) {
            Trial& end = direction < 0 ? answer.band_open : answer.band_closed;
            const auto above = [&](const Trial& t) {
                return objective_value(t, answer.objective) - limit;
            };
            end = walk(answer, curve, side, direction, above);
            const Trial turn = walk(answer, curve, side, direction, [&](const Trial& t) {
                return t.outlet.zones != answer.trial.outlet.zones ? 1.0 : -1.0;
            });
            const Point here = coordinates(answer.trial.settings);
            const Point there = coordinates(turn.settings);
            const double distance = std::abs(there[index(side)] - here[index(side)]);
            const bool found = turn.outlet.zones != answer.trial.outlet.zones;
            const bool nearer =
                std::isnan(answer.fold) ||
                distance < std::abs(axis_[index(side)].coordinate(answer.fold) - here[index(side)]);
            if (found && nearer) {
                answer.fold = of(turn.settings, side);
            }
        }
    }

    [[nodiscard]] const Trial& before() const { return before_; }
    [[nodiscard]] int simulations() const { return trials_.simulations(); }

private:
    static std::size_t index(int side) { return static_cast<std::size_t>(side); }

    [[nodiscard]] Point coordinates(const Settings& settings) const {
        return {axis_[0].coordinate(settings.resin), axis_[1].coordinate(settings.hardener)};
    }

    // The smaller of what flow and back pressure leave, >= 0 if both are kept.
    [[nodiscard]] double steady_margin(const Point& u, int side) {
        Machine machine = machine_;
        machine.resin.throttle = with_setting(machine.resin.throttle, axis_[0].setting_at(u[0]));
        machine.hardener.throttle =
            with_setting(machine.hardener.throttle, axis_[1].setting_at(u[1]));
        const double most = options_.max_back_pressure;
        const double back = trials_.added(side, side == 0 ? machine.resin : machine.hardener);
        const double pressure_left =
            std::isfinite(most) ? (most - back) / std::max(most, 1.0) : 1.0;
        const Steady steady = steady_state(machine);
        const double flow = steady.resin.flow + steady.hardener.flow;
        const double least = options_.least_flow * trials_.flow_before();
        return std::min(pressure_left, least > 0.0 ? flow / least - 1.0 : 1.0);
    }

    [[nodiscard]] std::pair<double, double> net_lead_range() const {
        double low = before_.net_lead;
        double high = before_.net_lead;
        for (const Trial& trial : grid_) {
            if (std::isfinite(trial.net_lead)) {
                low = std::min(low, trial.net_lead);
                high = std::max(high, trial.net_lead);
            }
        }
        return {low, high};
    }

    [[nodiscard]] const Trial& grid(std::size_t r, std::size_t h) const {
        return grid_[r * lines_[1].size() + h];
    }

    // ---- null ----

    [[nodiscard]] Answer null_lead() {
        Answer answer{};
        std::ostringstream text;
        text.precision(3);
        if (nothing_to_null()) {
            text << "nothing to null: net lead with what passes after the close command stays "
                    "below 0.5 % of the shot's hardener at every setting; what is left is the "
                    "swing of "
                 << before_.swing * 1e6 << " mL";
            answer.reason = text.str();
            return answer;
        }
        std::vector<std::pair<Point, Point>> brackets = sign_changes();
        if (brackets.empty()) {
            const auto [low, high] = net_lead_range();
            text << "no setting in range nulls the lead: it runs from " << low * 1e6 << " to "
                 << high * 1e6 << " mL";
            answer.reason = text.str();
            return answer;
        }
        std::vector<std::optional<Trial>> roots(brackets.size());
        detail::parallel_for(brackets.size(), options_.threads, [&](std::size_t i) {
            roots[i] = root(brackets[i].first, brackets[i].second);
        });
        const Trial* best = nullptr;
        std::string refused;
        for (const auto& trial : roots) {
            if (!trial) {
                continue;
            }
            if (!trial->refused.empty()) {
                refused = trial->refused;
            } else if (best == nullptr ||
                       summed_back_pressure(*trial) < summed_back_pressure(*best)) {
                best = &*trial;
            }
        }
        if (best == nullptr) {
            answer.reason = "the settings that null the lead are ruled out: " +
                            (refused.empty() ? "the lead jumps through zero" : refused);
            return answer;
        }
        answer.feasible = true;
        answer.trial = cheapest_null(*best);
        if (answer.trial.outlet.volume > before_.outlet.volume * 1.01) {
            text << "nulling the net lead makes the off-ratio volume grow from "
                 << before_.outlet.volume * 1e6 << " to " << answer.trial.outlet.volume * 1e6
                 << " mL: a null is not a cure here";
            answer.reason = text.str();
        }
        return answer;
    }

    [[nodiscard]] bool nothing_to_null() const {
        const auto small = [&](const Trial& trial) {
            return !std::isfinite(trial.net_lead) ||
                   std::abs(trial.net_lead + trial.after_close_lead) <
                       0.005 * target_.ratio * std::abs(trial.shot_resin);
        };
        return small(before_) && std::all_of(grid_.begin(), grid_.end(), small);
    }

    // Neighbours on the grid, along either side, between which the net lead changes sign.
    [[nodiscard]] std::vector<std::pair<Point, Point>> sign_changes() const {
        std::vector<std::pair<Point, Point>> found;
        for (std::size_t r = 0; r < lines_[0].size(); ++r) {
            for (std::size_t h = 0; h < lines_[1].size(); ++h) {
                for (const auto& [r2, h2] : {std::pair{r + 1, h}, std::pair{r, h + 1}}) {
                    if (r2 < lines_[0].size() && h2 < lines_[1].size() &&
                        grid(r, h).net_lead * grid(r2, h2).net_lead <= 0.0) {
                        found.push_back(
                            {{lines_[0][r], lines_[1][h]}, {lines_[0][r2], lines_[1][h2]}});
                    }
                }
            }
        }
        return found;
    }

    // Net lead zero on the line from a to b; nothing if it jumps through zero.
    [[nodiscard]] std::optional<Trial> root(const Point& a, const Point& b) {
        Trial last = before_;
        const auto on = [&](double s) {
            last = run_at({a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])});
            return std::abs(last.net_lead) < null_close ? 0.0 : last.net_lead;
        };
        const double at_a = on(0.0);
        if (at_a == 0.0) {
            return last;
        }
        const double at_b = on(1.0);
        if (at_b == 0.0) {
            return last;
        }
        if (!(at_a * at_b < 0.0)) {
            return std::nullopt;
        }
        std::uintmax_t turns = 40;
        const auto close = [](double x, double y) { return y - x < 1e-10; };
        const auto [x, y] =
            boost::math::tools::toms748_solve(on, 0.0, 1.0, at_a, at_b, close, turns);
        on(0.5 * (x + y));
        return std::abs(last.net_lead) < null_goal ? std::optional(last) : std::nullopt;
    }

    // Slides along the null contour by the resin's setting towards the least back pressure.
    [[nodiscard]] Trial cheapest_null(const Trial& start) {
        if (axis_[0].fixed() || axis_[1].fixed()) {
            return start;
        }
        const double step = lines_[0][1] - lines_[0][0];
        const double here = coordinates(start.settings)[0];
        const double low = std::max(axis_[0].low, here - step);
        const double high = std::min(axis_[0].high, here + step);
        Trial best = start;
        const auto cost = [&](double r) {
            const std::optional<Trial> trial = root({r, axis_[1].low}, {r, axis_[1].high});
            if (!trial || !trial->refused.empty()) {
                return 1e12;
            }
            if (summed_back_pressure(*trial) < summed_back_pressure(best)) {
                best = *trial;
            }
            return summed_back_pressure(*trial);
        };
        if (cost(low) <= summed_back_pressure(start)) {
            return best;  // the contour leads to a corner; sliding on has nothing to gain
        }
        std::uintmax_t turns = 8;
        boost::math::tools::brent_find_minima(cost, low, high, 12, turns);
        return best;
    }

    // ---- least ----

    [[nodiscard]] Answer least(Objective objective) {
        Answer answer{};
        std::vector<const Trial*> allowed;
        for (const Trial& trial : grid_) {
            if (trial.refused.empty() && std::isfinite(objective_value(trial, objective))) {
                allowed.push_back(&trial);
            }
        }
        if (allowed.empty()) {
            answer.reason = "no setting is allowed: " +
                            (before_.refused.empty() ? grid_.front().refused : before_.refused);
            return answer;
        }
        const auto better = [&](const Trial* a, const Trial* b) {
            return objective_value(*a, objective) < objective_value(*b, objective);
        };
        std::stable_sort(allowed.begin(), allowed.end(), better);
        allowed.resize(std::min<std::size_t>(allowed.size(), 3));
        std::vector<std::vector<Trial>> tried(allowed.size());
        detail::parallel_for(allowed.size(), options_.threads, [&](std::size_t i) {
            tried[i] = polish(*allowed[i], objective);
        });
        answer.feasible = true;
        answer.trial = cheapest_of_best(tried, objective);
        return answer;
    }

    // Bounded line searches along each side in turn; everything tried is kept.
    [[nodiscard]] std::vector<Trial> polish(const Trial& start, Objective objective) {
        std::vector<Trial> tried{start};
        Point u = coordinates(start.settings);
        double value = objective_value(start, objective);
        for (int round = 0; round < 2; ++round) {
            for (const int side : {1, 0}) {
                const Axis& axis = axis_[index(side)];
                if (axis.fixed()) {
                    continue;
                }
                const double width =
                    (lines_[index(side)][1] - lines_[index(side)][0]) / (1 + round);
                std::uintmax_t turns = 12;
                const auto along = [&](double at) {
                    Point p = u;
                    p[index(side)] = at;
                    tried.push_back(run_at(p));
                    return tried.back().refused.empty()
                               ? objective_value(tried.back(), objective)
                               : 1.0;  // a cubic metre: worse than any shot
                };
                const auto [at, least] = boost::math::tools::brent_find_minima(
                    along,
                    std::max(axis.low, u[index(side)] - width),
                    std::min(axis.high, u[index(side)] + width),
                    14,
                    turns);
                if (least < value) {
                    value = least;
                    u[index(side)] = at;
                }
            }
        }
        return tried;
    }

    [[nodiscard]] Trial cheapest_of_best(const std::vector<std::vector<Trial>>& tried,
                                         Objective objective) const {
        std::vector<const Trial*> all;
        for (const Trial& trial : grid_) {
            all.push_back(&trial);
        }
        for (const auto& list : tried) {
            for (const Trial& trial : list) {
                all.push_back(&trial);
            }
        }
        std::erase_if(all, [&](const Trial* t) {
            return !t->refused.empty() || !std::isfinite(objective_value(*t, objective));
        });
        double least = std::numeric_limits<double>::infinity();
        for (const Trial* trial : all) {
            least = std::min(least, objective_value(*trial, objective));
        }
        // Ties within 1 %, or within a ten-thousandth of the shot's hardener, go to less pressure.
        const double trace_of_hardener = 1e-4 * target_.ratio * std::abs(before_.shot_resin);
        const double limit =
            1.01 * least + (std::isfinite(trace_of_hardener) ? trace_of_hardener : 0.0);
        const Trial* best = nullptr;
        for (const Trial* trial : all) {
            if (objective_value(*trial, objective) <= limit &&
                (best == nullptr || summed_back_pressure(*trial) < summed_back_pressure(*best))) {
                best = trial;
            }
        }
        return *best;
    }

    // From the answer along the curve in one direction to where `above` turns positive, closed in
    // by bisection; the curve's end if it never does.
    template <class Above>
    [[nodiscard]] Trial walk(const Answer& answer,
                             const std::vector<Trial>& curve,
                             int side,
                             int direction,
                             const Above& above) {
        const Axis& axis = axis_[index(side)];
        const double here = axis.coordinate(of(answer.trial.settings, side));
        double low = here;
        Trial last = answer.trial;
        const std::size_t n = curve.size();
        for (std::size_t i = 0; i < n; ++i) {
            const Trial& next = direction > 0 ? curve[i] : curve[n - 1 - i];
            const double there = axis.coordinate(of(next.settings, side));
            if (!(direction * (there - here) > 1e-9)) {
                continue;
            }
            if (!std::isfinite(above(next)) || !next.refused.empty()) {
                return last;
            }
            if (above(next) > 0.0) {
                double high = there;
                Trial beyond = next;
                Point u = coordinates(answer.trial.settings);
                for (int turn = 0; turn < 5; ++turn) {
                    u[index(side)] = 0.5 * (low + high);
                    Trial middle = run_at(u);
                    const bool past = above(middle) > 0.0;
                    (past ? high : low) = u[index(side)];
                    (past ? beyond : last) = std::move(middle);
                }
                return above(last) > 0.0 ? last : beyond;
            }
            low = there;
            last = next;
        }
        return last;
    }

    const Machine& machine_;
    const Target& target_;
    const TrimOptions& options_;
    detail::Trials trials_;
    std::array<Axis, 2> axis_;
    std::array<std::vector<double>, 2> lines_;
    std::vector<Trial> grid_;

    Trial before_;
};

}  // namespace

Trim trim(const Machine& machine,
          const Sequence& sequence,
          const Target& target,
          const std::vector<Objective>& objectives,
          const TrimOptions& options,
          const Numerics& numerics) {
    Search search(machine, sequence, target, options, numerics);
    search.narrow();
    search.scan();
    Trim result{};
    result.before = search.before();
    result.curve_sweeps_resin = options.fix_hardener && !options.fix_resin;
    const int side = result.curve_sweeps_resin ? 0 : 1;
    for (const Objective objective : objectives) {
        result.answers.push_back(search.answer(objective));
    }
    // The curve runs through the answer with the least soft volume, or the last one asked for.
    for (const Answer& answer : result.answers) {
        if (answer.objective == Objective::least_soft || &answer == &result.answers.back()) {
            result.curve = search.curve(answer, side);
            break;
        }
    }
    for (Answer& answer : result.answers) {
        // Each band along the line through its own answer, the other side as it is there.
        if (answer.feasible) {
            search.surround(answer, search.curve(answer, side), side);
        }
    }
    result.simulations = search.simulations();
    return result;
}

}  // namespace evenfront
