#pragma once
#include <cmath>
#include <sstream>
#include <stdexcept>
#include <string>
#include <string_view>

/// One way to refuse a value: `where: what = value unit, must be rule`.
namespace evenfront {

/// Throws std::domain_error naming the quantity, its value and the rule it breaks, unless `ok`.
/// Write the condition so that NaN fails: `require(rho > 0, ...)`.
inline void require(bool ok,
                    std::string_view where,
                    std::string_view what,
                    double value,
                    std::string_view unit,
                    std::string_view rule) {
    if (ok) {
        return;
    }
    std::ostringstream text;
    text << where << ": " << what << " = " << value;
    if (!unit.empty()) {
        text << ' ' << unit;
    }
    text << ", must be " << rule;
    throw std::domain_error(text.str());
}

/// The two rules most arguments share.
inline void require_positive(std::string_view where,
                             std::string_view what,
                             double value,
                             std::string_view unit) {
    require(value > 0 && std::isfinite(value), where, what, value, unit, "> 0");
}
inline void require_not_negative(std::string_view where,
                                 std::string_view what,
                                 double value,
                                 std::string_view unit) {
    require(value >= 0 && std::isfinite(value), where, what, value, unit, ">= 0");
}

}  // namespace evenfront
