#pragma once
#include <Eigen/Core>
#include <algorithm>
#include <deque>
#include <optional>
#include <utility>
#include <vector>

namespace evenfront {

/// A fixed point x = F(x) by Anderson's acceleration: where F(x) - x would vanish if it went on as
/// it did with the last steps of x. Source: walker2011.
class Acceleration {
public:
    /// Where to try next. @param change F(x) - x, x and it in units of which each counts alike
    [[nodiscard]] Eigen::VectorXd next(const Eigen::VectorXd& x, const Eigen::VectorXd& change) {
        if (last_) {
            steps_.emplace_front(x - last_->first, change - last_->second);
            steps_.resize(std::min(steps_.size(), depth));
        }
        last_.emplace(x, change);
        // Newest first: an older step tells only what the newer ones do not.
        Eigen::VectorXd to = x;
        Eigen::VectorXd left = change;
        std::vector<std::pair<Eigen::VectorXd, Eigen::VectorXd>> used;
        for (const auto& step : steps_) {
            auto [dx, d_change] = step;
            const double whole = d_change.norm();
            for (const auto& [by, direction] : used) {
                const double share = direction.dot(d_change);
                d_change -= share * direction;
                dx -= share * by;
            }
            const double own = d_change.norm();
            if (own > least_own * whole) {
                used.emplace_back(dx / own, d_change / own);
                const double share = used.back().second.dot(left);
                left -= share * used.back().second;
                to -= share * used.back().first;
            }
        }
        return to + left;
    }

    /// From here on F is a slightly different function: what is known of its slopes still holds.
    void go_on_with_another() { last_.reset(); }

    void forget() {
        steps_.clear();
        last_.reset();
    }

private:
    static constexpr std::size_t depth = 5;
    static constexpr double least_own = 0.2;  // of a step's change, beside that of the newer ones
    std::deque<std::pair<Eigen::VectorXd, Eigen::VectorXd>> steps_;  // of x, and of the change
    std::optional<std::pair<Eigen::VectorXd, Eigen::VectorXd>> last_;
};

}  // namespace evenfront
