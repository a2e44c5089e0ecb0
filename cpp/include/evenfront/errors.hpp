#pragma once
#include <sstream>
#include <stdexcept>
#include <string>
#include <string_view>

/// One way to refuse a value: `where: what = value unit, must be rule`.
namespace evenfront {

/// Throws std::domain_error naming the quantity, its value and the rule it breaks, unless `ok`.
/// Write the condition so that NaN fails: `require(rho > 0, ...)`.
inline void require(bool ok, std::string_view where, std::string_view what, double value,
                    std::string_view unit, std::string_view rule) {
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

}  // namespace evenfront
