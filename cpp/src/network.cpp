#include "evenfront/network.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "evenfront/air.hpp"
#include "evenfront/constants.hpp"

namespace evenfront {

using Index = Eigen::Index;

Network::Network(const Machine& machine, bool inertia)
    : axes_(machine.hardener_axis ? 2 : 1),
      chain_{
          Chain(machine.resin, machine.shaft.stroke, inertia),
          Chain(machine.hardener,
                machine.hardener_axis ? machine.hardener_axis->shaft.stroke : machine.shaft.stroke,
                inertia)} {
    double force = 0.0;
    heads_ = 0;
    for (int a = 0; a < axes_; ++a) {
        const Shaft& shaft = a == 0 ? machine.shaft : machine.hardener_axis->shaft;
        const Drive& drive = a == 0 ? machine.drive : machine.hardener_axis->drive;
        axis_[u(a)] = {.mass = shaft.mass,
                       .viscous = shaft.viscous_friction,
                       .full_force = full_force(drive),
                       .stroke = shaft.stroke,
                       .air = drive.kind == DriveKind::air ? drive.air : std::nullopt};
        head_[u(a)] = heads_;
        heads_ += axis_[u(a)].air ? 4 : 2;
        force += axis_[u(a)].full_force;
    }
    total_ = heads_ + chain_[0].rows() + chain_[1].rows();
    size_ = total_ + 9;
    for (int a = 0; a < axes_; ++a) {
        if (axis_[u(a)].air) {
            air_total_[u(a)] = size_;
            size_ += 5;
        }
    }
    rows_.resize(u(size_ - total_));
    pressure_scale_ = force / (chain_[0].area_ + chain_[1].area_);
    for (int s = 0; s < 2; ++s) {
        volume_scale_[u(s)] = 0.01 * chain_[u(s)].area_ * axis_[u(axis_of(s))].stroke;
    }
}

// Mixing point: p_m = R_m (q_r + q_h) with q_s = delta_s (Q_s(p_s - p_m, f_s) + pushed), liquid
// flows of the streams that reach it. The balance p_m - R_m sum q_s rises with p_m, so its root is
// unique; Newton kept in a bracket.
template <bool WithJacobian>
void Network::mix(const Controls& controls, double entered) {
    std::array<double, 2> p{};
    std::array<double, 2> delta{};
    std::array<Restriction::Result, 2> r{};
    joined_ = controls.joined;
    resistance_ =
        controls.mixer_resistance + controls.mixer_by_volume * (entered - controls.entered);
    double low = 0.0;
    double high = 0.0;
    double pushed = 0.0;
    for (std::size_t s = 0; s < 2; ++s) {
        const Chain& chain = chain_[s];
        p[s] = chain.p_.back();
        delta[s] = chain.outlet_rho_ * chain.inv_v_.back() / chain.rho_ref_;
        if (joined_[s]) {
            low = std::min(low, p[s]);
            high = std::max(high, p[s]);
            pushed += resistance_ * delta[s] * controls.pushed[s];
        } else {
            r[s] = (*chain.outlet_)(p[s], controls.fraction[s]);
        }
    }
    low += std::min(pushed, 0.0);
    high += std::max(pushed, 0.0);
    double p_m = std::clamp(p_m_, low, high);
    const double size = std::abs(p[0]) + std::abs(p[1]);
    double slope = 1.0;
    for (int trial = 0; trial < 200; ++trial) {
        double balance = p_m - pushed;
        slope = 1.0;
        for (std::size_t s = 0; s < 2; ++s) {
            if (joined_[s]) {
                r[s] = (*chain_[s].outlet_)(p[s] - p_m, controls.fraction[s]);
                balance -= resistance_ * delta[s] * r[s].q;
                slope += resistance_ * delta[s] * r[s].slope;
            }
        }
        (balance > 0.0 ? high : low) = p_m;
        double next = p_m - balance / slope;
        if (!(next >= low && next <= high)) {
            next = 0.5 * (low + high);
        }
        const double step = next - p_m;
        if (!(std::abs(step) > 1e-14 * (size + 1.0))) {
            break;
        }
        p_m = next;
    }
    p_m_ = p_m;
    double sum = 0.0;  // of what reaches the mixer
    for (std::size_t s = 0; s < 2; ++s) {
        q_[s] = delta[s] * (r[s].q + controls.pushed[s]);
        sum += joined_[s] ? q_[s] : 0.0;
    }
    if constexpr (WithJacobian) {
        std::array<double, 2> dpm{};  // dp_m/dp_N,s by the implicit function theorem
        const double by_resistance = sum / slope;
        double dpm_dt = by_resistance * controls.mixer_rate;
        std::array<double, 2> own{};  // dq_s/dp_s at fixed p_m
        for (std::size_t s = 0; s < 2; ++s) {
            const Chain& chain = chain_[s];
            own[s] = delta[s] * r[s].slope - q_[s] * chain.dv_.back() * chain.inv_v_.back();
            if (joined_[s]) {
                dpm[s] = resistance_ * own[s] / slope;
                dpm_dt +=
                    resistance_ * delta[s] * r[s].by_fraction * controls.fraction_rate[s] / slope;
            }
        }
        for (std::size_t s = 0; s < 2; ++s) {
            const double g = joined_[s] ? delta[s] * r[s].slope : 0.0;
            dq_[s][s] = own[s] - g * dpm[s];
            dq_[s][1 - s] = -g * dpm[1 - s];
            q_by_entered_[s] = -g * by_resistance * controls.mixer_by_volume;
            q_rate_[s] = delta[s] * r[s].by_fraction * controls.fraction_rate[s] - g * dpm_dt;
        }
    }
}

// Rows of the air's energies, and the force by x and by both energies.
template <bool WithJacobian>
void Network::drive_by_air(const AxisControls& c,
                           int axis,
                           const Eigen::VectorXd& y,
                           Eigen::VectorXd& f) {
    AxisState& state = axis_[u(axis)];
    const AirCylinder& cylinder = *state.air;
    const double x = y[position(axis)];
    const double v = y[speed(axis)];
    const Index base = air(axis);
    const std::array<double, 2> area{driving_area(cylinder), exhausting_area(cylinder)};
    const std::array<double, 2> sweeps{area[0], -area[1]};  // dV/dx
    const std::array<double, 2> volume{cylinder.dead_volume + area[0] * x,
                                       cylinder.dead_volume + area[1] * (state.stroke - x)};
    const double heat = cylinder.exponent * gas_constant_air * cylinder.temperature;
    const auto out = [&](double p) {
        return air_flow(cylinder.exhaust, standard_pressure, p, cylinder.temperature);
    };
    std::array<AirFlow, 2> in{};
    for (std::size_t k = 0; k < 2; ++k) {
        const double p = std::max(y[base + static_cast<Index>(k)] / volume[k], 1.0);
        state.air_pressure[k] = p;
        in[k] = k == 0 && c.supplied ? supply_flow(cylinder, p) : out(p);
        f[base + static_cast<Index>(k)] =
            heat * in[k].mass_flow - (cylinder.exponent - 1.0) * p * sweeps[k] * v;
        f[air_total(axis, k == 0 ? AirTotal::supplied : AirTotal::exhausted)] =
            k == 0 ? in[k].mass_flow : -in[k].mass_flow;
    }
    state.drive = air_force(cylinder, state.air_pressure[0], state.air_pressure[1]);
    f[air_total(axis, AirTotal::work)] = state.drive * v;
    if constexpr (WithJacobian) {
        const auto h = u(position(axis));
        TotalRow& work = total_row(air_total(axis, AirTotal::work));
        work.head[h + 1] = state.drive;
        for (std::size_t k = 0; k < 2; ++k) {
            const double p = state.air_pressure[k];
            const double by_energy = 1.0 / volume[k];
            const double by_x = -p * sweeps[k] / volume[k];
            const double rate = heat * in[k].by_second - (cylinder.exponent - 1.0) * sweeps[k] * v;
            head_jac_[h + 2 + k][h + 2 + k] = rate * by_energy;
            head_jac_[h + 2 + k][h] = rate * by_x;
            head_jac_[h + 2 + k][h + 1] = -(cylinder.exponent - 1.0) * p * sweeps[k];
            work.head[h + 2 + k] = sweeps[k] * by_energy * v;
            work.head[h] += sweeps[k] * by_x * v;
            TotalRow& moved =
                total_row(air_total(axis, k == 0 ? AirTotal::supplied : AirTotal::exhausted));
            const double sign = k == 0 ? 1.0 : -1.0;
            moved.head[h + 2 + k] = sign * in[k].by_second * by_energy;
            moved.head[h] = sign * in[k].by_second * by_x;
            head_jac_[h + 1][h + 2 + k] = sweeps[k] * by_energy;  // times 1/m in `move`
            head_jac_[h + 1][h] += sweeps[k] * by_x;
        }
    }
}

template <bool WithJacobian>
void Network::move(const Controls& controls,
                   int axis,
                   const Eigen::VectorXd& y,
                   Eigen::VectorXd& f) {
    AxisState& state = axis_[u(axis)];
    const AxisControls& c = controls.axis[u(axis)];
    const double v = y[speed(axis)];
    const auto h = u(position(axis));
    if constexpr (WithJacobian) {
        for (std::size_t row = h; row < h + (state.air ? 4 : 2); ++row) {
            head_jac_[row] = {};
            head_by_first_[row] = {};
        }
        head_jac_[h][h + 1] = 1.0;
    }
    if (state.air) {
        drive_by_air<WithJacobian>(c, axis, y, f);
    } else {
        state.drive = c.force - c.stiffness * y[position(axis)];
        head_jac_[h + 1][h] = WithJacobian ? -c.stiffness : head_jac_[h + 1][h];
    }
    double load = 0.0;
    for (int s = 0; s < 2; ++s) {
        if (axis_of(s) == axis && controls.engaged[u(s)]) {
            load += chain_[u(s)].area_ * chain_[u(s)].p_[0];
        }
    }
    state.net = state.drive - load;
    f[position(axis)] = v;
    f[speed(axis)] =
        c.free ? (state.net - state.viscous * v - c.friction) / state.mass : c.acceleration;
    if (state.air) {
        f[air_total(axis, AirTotal::liquid_work)] = load * v;
        f[air_total(axis, AirTotal::friction_work)] = (state.viscous * v + c.friction) * v;
    }
    if constexpr (WithJacobian) {
        const double inverse = c.free ? 1.0 / state.mass : 0.0;
        for (double& entry : head_jac_[h + 1]) {
            entry *= inverse;
        }
        head_jac_[h + 1][h + 1] = -state.viscous * inverse;
        for (int s = 0; s < 2; ++s) {
            if (axis_of(s) == axis && controls.engaged[u(s)]) {
                const Chain& chain = chain_[u(s)];
                head_jac_[h + 1][h] -= chain.area_ * chain.dp0_dx_ * inverse;
                head_by_first_[h + 1][u(s)] = -chain.area_ * chain.dp_dm_[0] * inverse;
                if (state.air) {
                    TotalRow& work = total_row(air_total(axis, AirTotal::liquid_work));
                    work.head[h] += chain.area_ * chain.dp0_dx_ * v;
                    work.first[u(s)] = chain.area_ * chain.dp_dm_[0] * v;
                }
            }
        }
        if (state.air) {
            total_row(air_total(axis, AirTotal::liquid_work)).head[h + 1] = load;
            total_row(air_total(axis, AirTotal::friction_work)).head[h + 1] =
                2.0 * state.viscous * v + c.friction;
        }
    }
}

template <bool WithJacobian>
void Network::evaluate(const Controls& controls,
                       const Eigen::VectorXd& y,
                       Eigen::VectorXd& f,
                       Eigen::VectorXd* g) {
    for (int s = 0; s < 2; ++s) {
        Chain& chain = chain_[u(s)];
        const bool engaged = controls.engaged[u(s)];
        const double piston = controls.piston[u(s)];
        const double* block = y.data() + first(s);
        chain.find_pressures(block, engaged ? y[position(axis_of(s))] - piston : piston, engaged);
        chain.flow<WithJacobian>(block, controls.fraction[u(s)], controls.elapsed);
    }
    mix<WithJacobian>(controls, y[entered()]);
    if constexpr (WithJacobian) {
        std::fill(rows_.begin(), rows_.end(), TotalRow{});
    }
    for (int a = 0; a < axes_; ++a) {
        move<WithJacobian>(controls, a, y, f);
    }
    f[entered()] = 0.0;
    for (int s = 0; s < 2; ++s) {
        Chain& chain = chain_[u(s)];
        double* rate = f.data() + first(s);
        const Index last = chain.nodes() - 1;
        const double leak = chain.leak_ * std::max(chain.p_[0], 0.0);  // actual flow
        const double leak_mass = leak * chain.cylinder_rho_ * chain.inv_v_[0];
        const Chain::Draw draw = controls.feed[u(s)] > 0.0 || controls.feed_rate[u(s)] > 0.0
                                     ? chain.draw()
                                     : Chain::Draw{};
        const double drawn_mass = controls.feed[u(s)] * draw.mass_flow;
        chain.momentum<WithJacobian>(y.data() + first(s), controls.elapsed, rate);
        rate[0] = -chain.w_[0] - leak_mass + drawn_mass;
        for (Index i = 1; i < last; ++i) {
            const Index row = chain.has_inertia() ? chain.row(i) : i;
            rate[row] = chain.w_[u(i - 1)] - chain.w_[u(i)];
        }
        rate[chain.row(last)] = chain.w_[u(last - 1)] - chain.rho_ref_ * q_[u(s)];
        double* change = g != nullptr ? g->data() + first(s) : nullptr;
        const Chain::Shrinking cooling = chain.shrink(controls.elapsed, rate, change);
        f[shrunk(s)] = cooling.rate / chain.rho_ref_;
        if (g != nullptr) {
            (*g)[shrunk(s)] = cooling.change / chain.rho_ref_;
        }
        f[volume(s)] = q_[u(s)];
        f[leaked(s)] = leak_mass / chain.rho_ref_;
        f[drawn(s)] = drawn_mass / chain.rho_ref_;
        f[entered()] += joined_[u(s)] ? q_[u(s)] : 0.0;
        if constexpr (WithJacobian) {
            draw_by_p_[u(s)] = controls.feed[u(s)] * draw.by_pressure;
            draw_rate_[u(s)] = controls.feed_rate[u(s)] * draw.mass_flow;
            const double by_density = -leak_mass * chain.dv_[0] * chain.inv_v_[0];
            leak_by_p_[u(s)] =
                chain.p_[0] > 0.0 ? chain.leak_ * chain.cylinder_rho_ * chain.inv_v_[0] + by_density
                                  : 0.0;
        }
    }
}

void Network::rhs(const Controls& controls, const Eigen::VectorXd& y, Eigen::VectorXd& f) {
    evaluate<false>(controls, y, f, nullptr);
}

void Network::linearise(const Controls& controls,
                        const Eigen::VectorXd& y,
                        Eigen::VectorXd& f,
                        Eigen::VectorXd& g) {
    g.setZero(size());
    evaluate<true>(controls, y, f, &g);
    for (int a = 0; a < axes_; ++a) {
        const AxisControls& c = controls.axis[u(a)];
        g[speed(a)] = c.free && !axis_[u(a)].air ? c.force_rate / axis_[u(a)].mass : 0.0;
    }
    tie(controls, g);
}

// What joins the chains to their shafts, to each other and to the totals.
void Network::tie(const Controls& controls, Eigen::VectorXd& g) {
    TotalRow& into_mixer = total_row(entered());
    for (int s = 0; s < 2; ++s) {
        Chain& chain = chain_[u(s)];
        const Index last = chain.row(chain.nodes() - 1);
        chain.set_jacobian(draw_by_p_[u(s)] - leak_by_p_[u(s)], -chain.rho_ref_ * dq_[u(s)][u(s)]);
        chain.tail_by_other_ =
            -chain.rho_ref_ * dq_[u(s)][u(1 - s)] * chain_[u(1 - s)].dp_dm_.back();
        chain.tail_by_entered_ = -chain.rho_ref_ * q_by_entered_[u(s)];
        const double inner = chain.inner_rate_ * controls.fraction_rate[u(s)];
        if (inner != 0.0) {
            g[first(s) + last - 1] -= inner;
        }
        g[first(s) + last] += inner - chain.rho_ref_ * q_rate_[u(s)];
        g[first(s)] += draw_rate_[u(s)];
        chain.add_drift(g.data() + first(s));
        g[volume(s)] = q_rate_[u(s)];
        g[drawn(s)] = draw_rate_[u(s)] / chain.rho_ref_;
        TotalRow& delivered = total_row(volume(s));
        for (int t = 0; t < 2; ++t) {
            delivered.last[u(t)] = dq_[u(s)][u(t)] * chain_[u(t)].dp_dm_.back();
        }
        delivered.entered = q_by_entered_[u(s)];
        if (joined_[u(s)]) {
            g[entered()] += q_rate_[u(s)];
            into_mixer.entered += delivered.entered;
            for (std::size_t t = 0; t < 2; ++t) {
                into_mixer.last[t] += delivered.last[t];
            }
        }
        const auto at_cylinder = [&](Index total, double by_pressure) {
            const double liquid = by_pressure / chain.rho_ref_;
            total_row(total).first[u(s)] = liquid * chain.dp_dm_[0];
            total_row(total).head[u(position(axis_of(s)))] = liquid * chain.dp0_dx_;
        };
        at_cylinder(leaked(s), leak_by_p_[u(s)]);
        at_cylinder(drawn(s), draw_by_p_[u(s)]);
    }
}

double Network::error_norm(const Eigen::VectorXd& error, const Eigen::VectorXd& y) const {
    const double floor = 0.1 * pressure_scale_;
    const auto square = [](double e) { return e * e; };
    double sum = 0.0;
    bool overdrawn = false;
    Index terms = total_ + 6;
    for (int a = 0; a < axes_; ++a) {
        sum += square(error[position(a)] / 1e-3) +
               square(error[speed(a)] / (speed_scale + std::abs(y[speed(a)])));
        if (axis_[u(a)].air) {
            const double energy = axis_[u(a)].full_force * 0.01 * axis_[u(a)].stroke;
            const double mass = energy / (gas_constant_air * axis_[u(a)].air->temperature);
            for (const Index k : {Index{0}, Index{1}}) {
                sum += square(error[air(a) + k] / (energy + std::abs(y[air(a) + k])));
                sum += square(error[air_total_[u(a)] + k] / mass);
            }
            for (Index k = 2; k < 5; ++k) {
                sum += square(error[air_total_[u(a)] + k] / energy);
            }
            terms += 5;
        }
    }
    for (int s = 0; s < 2; ++s) {
        const Chain& chain = chain_[u(s)];
        const double* block = error.data() + first(s);
        const double* state = y.data() + first(s);
        const double x = error[position(axis_of(s))];
        for (Index i = 0; i < chain.nodes(); ++i) {
            // An error of mass and position that leaves the pressure alone is no error of pressure.
            const Index row = chain.has_inertia() ? chain.row(i) : i;
            overdrawn = overdrawn || !(state[row] > 0.0);
            const double dp = chain.dp_dm_[u(i)] * block[row] + (i == 0 ? chain.dp0_dx_ * x : 0.0);
            sum += square(dp / (floor + std::abs(chain.p_[u(i)])));
        }
        if (chain.has_inertia()) {
            const double slow = chain.rho_ref_ * chain.area_ * speed_scale;
            for (std::size_t j = 0; j < chain.pipes_.size(); ++j) {
                sum += square(block[2 * j + 1] / (slow + std::abs(chain.w_[j])));
            }
        }
        sum += square(error[volume(s)] / volume_scale_[u(s)]);
        sum += square(error[leaked(s)] / volume_scale_[u(s)]);
        sum += square(error[drawn(s)] / volume_scale_[u(s)]);
    }
    return overdrawn ? std::numeric_limits<double>::infinity()
                     : std::sqrt(sum / static_cast<double>(terms));
}

}  // namespace evenfront
