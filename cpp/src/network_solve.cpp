/// The linear systems of the network: factored and solved with its structure.
#include <Eigen/Core>

#include "evenfront/network.hpp"

namespace evenfront {

using Index = Eigen::Index;

namespace {

void solve_tridiagonal(const Eigen::VectorXd& lower,
                       const Eigen::VectorXd& diag,
                       const Eigen::VectorXd& upper,
                       double* b,
                       Index n) {
    for (Index i = 1; i < n; ++i) {
        b[i] -= lower[i] * b[i - 1];
    }
    b[n - 1] *= diag[n - 1];
    for (Index i = n - 2; i >= 0; --i) {
        b[i] = b[i] * diag[i] - upper[i] * b[i + 1];
    }
}

}  // namespace

// (shift I - J) is two tridiagonal blocks, one a stream, tied to their shafts at the cylinders and
// to each other at the mixing point. With X = T^-1 (x column) and E = T^-1 (last unit vector) a
// stream's masses are  y + X x + E (c m_N,other + d E_mixer)  for any right-hand side, y = T^-1 b;
// what remains is a small dense system for the heads, both tails and the volume entered. Its
// diagonal carries it: no pivots need exchanging.
void Network::factor(double shift) {
    shift_ = shift;
    for (Chain& chain : chain_) {
        const Index n = chain.rows();
        auto& [lower, diag, upper] = chain.lu_;
        const auto& jac = chain.jac_;
        auto& x = chain.x_solution_;
        auto& tail = chain.tail_solution_;
        lower[0] = 0.0;
        diag[0] = 1.0 / (shift - jac.diag[0]);
        x[0] = chain.x_column_[0];
        for (Index i = 1; i < n; ++i) {
            lower[i] = -jac.lower[i] * diag[i - 1];
            upper[i - 1] = -jac.upper[i - 1] * diag[i - 1];
            diag[i] = 1.0 / (shift - jac.diag[i] - jac.lower[i] * jac.upper[i - 1] * diag[i - 1]);
            x[i] = (i == 1 ? chain.x_column_[1] : 0.0) - lower[i] * x[i - 1];
        }
        x[n - 1] *= diag[n - 1];
        tail[n - 1] = diag[n - 1];  // the forward sweep leaves the unit vector alone
        for (Index i = n - 2; i >= 0; --i) {
            x[i] = x[i] * diag[i] - upper[i] * x[i + 1];
            tail[i] = -upper[i] * tail[i + 1];
        }
    }
    const std::size_t heads = u(heads_);
    const std::size_t mixer = heads + 2;
    auto& m = ties_;
    for (std::size_t h = 0; h < heads; ++h) {
        m[h] = {};
        for (std::size_t k = 0; k < heads; ++k) {
            m[h][k] = (h == k ? shift : 0.0) - head_jac_[h][k];
        }
        for (int s = 0; s < 2; ++s) {
            const Chain& chain = chain_[u(s)];
            const double by_first = head_by_first_[h][u(s)];
            const double by_tail = by_first * chain.tail_solution_[0];
            m[h][u(position(axis_of(s)))] -= by_first * chain.x_solution_[0];
            m[h][heads + u(1 - s)] -= by_tail * chain.tail_by_other_;
            m[h][mixer] -= by_tail * chain.tail_by_entered_;
        }
    }
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        const Index last = chain.rows() - 1;
        auto& row = m[heads + u(s)];
        row = {};
        row[heads + u(s)] = 1.0;
        row[heads + u(1 - s)] = -chain.tail_solution_[last] * chain.tail_by_other_;
        row[u(position(axis_of(s)))] = -chain.x_solution_[last];
        row[mixer] = -chain.tail_solution_[last] * chain.tail_by_entered_;
    }
    const TotalRow& into_mixer = rows_[u(entered() - total_)];
    m[mixer] = {};
    m[mixer][heads] = -into_mixer.last[0];
    m[mixer][heads + 1] = -into_mixer.last[1];
    m[mixer][mixer] = shift - into_mixer.entered;
    for (std::size_t k = 0; k <= mixer; ++k) {
        m[k][k] = 1.0 / m[k][k];  // kept so
        for (std::size_t i = k + 1; i <= mixer; ++i) {
            const double factor = m[i][k] *= m[k][k];
            for (std::size_t j = k + 1; j <= mixer; ++j) {
                m[i][j] -= factor * m[k][j];
            }
        }
    }
}

void Network::solve(Eigen::VectorXd& b) const {
    const std::size_t heads = u(heads_);
    const std::size_t mixer = heads + 2;
    std::array<double, most_ties> z{};
    std::array<double, 2> first_mass{};
    const auto liquid = [&](int s) {  // volume held, delivered, leaked, given to the tank, shrunk
        const Chain& chain = chain_[u(s)];
        return chain.held_mass(b.data() + first(s)) / chain.rho_ref() + b[volume(s)] +
               b[leaked(s)] - b[drawn(s)] + b[shrunk(s)];
    };
    const std::array<double, 2> liquid_before{liquid(0), liquid(1)};
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        double* block = b.data() + first(s);
        solve_tridiagonal(chain.lu_.lower, chain.lu_.diag, chain.lu_.upper, block, chain.rows());
        first_mass[u(s)] = block[0];
        z[heads + u(s)] = block[chain.rows() - 1];
    }
    for (std::size_t h = 0; h < heads; ++h) {
        z[h] = b[static_cast<Index>(h)] + head_by_first_[h][0] * first_mass[0] +
               head_by_first_[h][1] * first_mass[1];
    }
    z[mixer] = b[entered()];
    for (std::size_t i = 1; i <= mixer; ++i) {
        for (std::size_t k = 0; k < i; ++k) {
            z[i] -= ties_[i][k] * z[k];
        }
    }
    for (std::size_t i = mixer + 1; i-- > 0;) {
        for (std::size_t k = i + 1; k <= mixer; ++k) {
            z[i] -= ties_[i][k] * z[k];
        }
        z[i] *= ties_[i][i];
    }
    for (std::size_t h = 0; h < heads; ++h) {
        b[static_cast<Index>(h)] = z[h];
    }
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        const double x = z[u(position(axis_of(s)))];
        const double tail =
            chain.tail_by_other_ * z[heads + u(1 - s)] + chain.tail_by_entered_ * z[mixer];
        double* block = b.data() + first(s);
        for (Index i = 0; i < chain.rows(); ++i) {
            block[i] += chain.x_solution_[i] * x + chain.tail_solution_[i] * tail;
        }
    }
    const double inverse = 1.0 / shift_;
    const std::array<double, 2> at_first{b[first(0)], b[first(1)]};
    for (std::size_t k = 0; k < rows_.size(); ++k) {
        const TotalRow& row = rows_[k];
        double rate = row.entered * z[mixer] + row.first[0] * at_first[0] +
                      row.first[1] * at_first[1] + row.last[0] * z[heads] +
                      row.last[1] * z[heads + 1];
        for (std::size_t h = 0; h < heads; ++h) {
            rate += row.head[h] * z[h];
        }
        double& total = b[total_ + static_cast<Index>(k)];
        total = (total + rate) * inverse;
    }
    b[entered()] = z[mixer];
    // Through an open way out goes what is then missing: so no liquid is lost however stiff it is.
    for (int s = 0; s < 2; ++s) {
        if (rows_[u(s)].last[u(s)] != 0.0) {
            const double missing = liquid_before[u(s)] * inverse - liquid(s);
            b[volume(s)] += missing;
            b[entered()] += joined_[u(s)] ? missing : 0.0;
        }
    }
}

Eigen::MatrixXd Network::dense_jacobian() const {
    Eigen::MatrixXd j = Eigen::MatrixXd::Zero(size(), size());
    for (Index h = 0; h < heads_; ++h) {
        for (Index k = 0; k < heads_; ++k) {
            j(h, k) = head_jac_[u(h)][u(k)];
        }
        for (int s = 0; s < 2; ++s) {
            j(h, first(s)) = head_by_first_[u(h)][u(s)];
        }
    }
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        const Index begin = first(s);
        const Index last = chain.rows() - 1;
        for (Index i = 0; i <= last; ++i) {
            j(begin + i, begin + i) = chain.jac_.diag[i];
            if (i > 0) {
                j(begin + i, begin + i - 1) = chain.jac_.lower[i];
            }
            if (i < last) {
                j(begin + i, begin + i + 1) = chain.jac_.upper[i];
            }
        }
        j(begin, position(axis_of(s))) = chain.x_column_[0];
        j(begin + 1, position(axis_of(s))) = chain.x_column_[1];
        j(begin + last, first(1 - s) + chain_[u(1 - s)].rows() - 1) = chain.tail_by_other_;
        j(begin + last, entered()) = chain.tail_by_entered_;
    }
    for (std::size_t k = 0; k < rows_.size(); ++k) {
        const Index r = total_ + static_cast<Index>(k);
        for (Index h = 0; h < heads_; ++h) {
            j(r, h) += rows_[k].head[u(h)];
        }
        for (int s = 0; s < 2; ++s) {
            j(r, first(s)) += rows_[k].first[u(s)];
            j(r, first(s) + chain_[u(s)].rows() - 1) += rows_[k].last[u(s)];
        }
        j(r, entered()) += rows_[k].entered;
    }
    return j;
}

}  // namespace evenfront
