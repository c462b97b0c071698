//! The temperature that the readings follow, in closed form: dT/dt = P q − k (T − Ta), where the heat q follows the switch
//! with a lag, dq/dt = (s − q)/λ. P is the heating rate at ambient temperature; R = P/k is how far the heater would heat up,
//! k = 1/τ. With k = 0 the heater heats at a constant rate, with λ = 0 heat is there at once.

/// Temperature above ambient and heat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct State {
    /// T − Ta, K.
    pub(super) above: f64,
    /// q, 0 to 1.
    pub(super) heat: f64,
}

/// What one stretch with the switch in one position does to a state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Law {
    /// P, K/s.
    pub(super) power: f64,
    /// k, 1/s.
    pub(super) loss: f64,
    /// λ, s.
    pub(super) lag: f64,
    /// s: 1 with the switch on, 0 with it off.
    pub(super) switch: f64,
}

impl Law {
    /// The state after `t` seconds.
    pub(super) fn after(&self, from: State, t: f64) -> State {
        let behind = from.heat - self.switch;
        let heat = self.switch * steady(self.loss, t) + behind * lagged(self.loss, self.lag, t);
        State {
            above: from.above * (-self.loss * t).exp() + self.power * heat,
            heat: self.switch + behind * fading(self.lag, t),
        }
    }

    /// dT/dt, K/s.
    pub(super) fn rate(&self, at: State) -> f64 {
        self.power * at.heat - self.loss * at.above
    }
}

/// ∫ e^(−k (t − s)) ds from 0 to t: what steady heat leaves behind.
fn steady(loss: f64, t: f64) -> f64 {
    // Below this the series is t to the last digit.
    if (loss * t).abs() < 1e-16 { t } else { -(-loss * t).exp_m1() / loss }
}

/// ∫ e^(−k (t − s)) e^(−s/λ) ds from 0 to t: what fading heat leaves behind.
fn lagged(loss: f64, lag: f64, t: f64) -> f64 {
    if lag > 0.0 { (-loss * t).exp() * steady(1.0 / lag - loss, t) } else { 0.0 }
}

fn fading(lag: f64, t: f64) -> f64 {
    if lag > 0.0 { (-t / lag).exp() } else { 0.0 }
}

/// What a heat-up from rest is made of: the share of the start above ambient that is left, and the rise for P = 1 K/s.
pub(super) fn heat_up(loss: f64, lag: f64, t: f64) -> [f64; 2] {
    [(-loss * t).exp(), steady(loss, t) - lagged(loss, lag, t)]
}
