//! A second heater that shares no equation with the first: a heated block and a cavity with the detector behind it, each with
//! its capacity (J/K), both losing heat in proportion (W/K), solved exactly by the two modes of the linear system. The display's sensor is in the
//! cavity or in the block, and so is that of the thermostat, which has hysteresis.

use super::simulator::{Heats, Random, Simulated};

/// Where the sensors are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Display and thermostat in the cavity: the block is ahead of both and the display runs on behind it.
    Behind,
    /// The thermostat in the block, the display in the cavity: it still rises when the thermostat first opens.
    Apart,
    /// Display and thermostat in the block: the cavity is a slow sink behind it.
    Ahead,
}

/// One heater with a detector in place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cavity {
    kind: Kind,
    /// W at the nominal supply.
    power: f64,
    /// Of block and cavity, J/K.
    capacity: [f64; 2],
    /// Of block and cavity, W/K.
    loss: [f64; 2],
    /// Between them, W/K.
    exchange: f64,
    top: f64,
    hysteresis: f64,
}

impl Cavity {
    pub(super) fn any(kind: Kind, random: &mut Random) -> Cavity {
        let block = random.between(50.0, 110.0);
        let share = random.between(0.15, 0.5);
        let cavity = share * block;
        // How long the cavity takes to follow the block.
        let follows = if kind == Kind::Ahead { random.between(15.0, 60.0) } else { random.between(5.0, 20.0) };
        Cavity {
            kind,
            power: random.between(0.45, 0.7) * (block + cavity),
            capacity: [block, cavity],
            loss: [block / random.between(300.0, 700.0), cavity / random.between(250.0, 700.0)],
            exchange: cavity / follows,
            top: random.between(60.0, 95.0),
            hysteresis: random.between(0.5, 2.0),
        }
    }
}

impl Simulated for Cavity {
    type Use = CavityUse;

    fn start(&self, random: &mut Random) -> CavityUse {
        // Supply: sd 2 %; air: sd 5 %; ambient over a day of work.
        let (volts, air) = (1.0 + random.normal(0.02), 1.0 + random.normal(0.05));
        let ambient = random.between(12.0, 30.0);
        let rate = |from: usize, to: usize| {
            let lost = if from == to { self.exchange + air * self.loss[from] } else { -self.exchange };
            -lost / self.capacity[to]
        };
        let matrix = [[rate(0, 0), rate(1, 0)], [rate(0, 1), rate(1, 1)]];
        let step = exponential(matrix, STEP);
        let heats = self.power * volts * volts / self.capacity[0];
        CavityUse {
            heater: *self,
            ambient,
            settles: settles(matrix, heats),
            step,
            above: [0.0; 2],
            on: false,
            closed: true,
            time: 0.0,
            reached: None,
        }
    }

    fn top(&self) -> f64 {
        self.top
    }
}

/// One use of a heater.
#[derive(Clone)]
pub(super) struct CavityUse {
    heater: Cavity,
    ambient: f64,
    /// Where block and cavity would settle with heat on all the time, above ambient.
    settles: [f64; 2],
    /// What is left after a step of what they are away from where they settle.
    step: [[f64; 2]; 2],
    /// Block and cavity above ambient.
    above: [f64; 2],
    on: bool,
    /// The thermostat's contact.
    closed: bool,
    time: f64,
    reached: Option<f64>,
}

/// How often the thermostat looks, s.
const STEP: f64 = 0.1;

impl CavityUse {
    /// What the thermostat opens at, as its own sensor sees it. One in the block is set so that the display settles near the top temperature.
    fn senses(&self) -> (f64, f64) {
        let Cavity { kind, loss, exchange, top, .. } = self.heater;
        match kind {
            Kind::Behind => (self.above[1], top - self.ambient),
            Kind::Apart => (self.above[0], (top - self.ambient) * (1.0 + loss[1] / exchange)),
            Kind::Ahead => (self.above[0], top - self.ambient),
        }
    }

    fn advance(&mut self) {
        let towards = if self.on && self.closed { self.settles } else { [0.0; 2] };
        let away = [self.above[0] - towards[0], self.above[1] - towards[1]];
        self.above = [0, 1].map(|to| towards[to] + self.step[to][0] * away[0] + self.step[to][1] * away[1]);
        self.time += STEP;
        let (sensed, opens) = self.senses();
        if sensed >= opens {
            self.closed = false;
            if self.on {
                self.reached.get_or_insert(self.time);
            }
        } else if sensed < opens - self.heater.hysteresis {
            self.closed = true;
        }
    }
}

impl Heats for CavityUse {
    fn time(&self) -> f64 {
        self.time
    }

    fn ambient(&self) -> f64 {
        self.ambient
    }

    fn display(&self) -> f64 {
        self.ambient + if self.heater.kind == Kind::Ahead { self.above[0] } else { self.above[1] }
    }

    fn reached(&self) -> Option<f64> {
        self.reached
    }

    fn warmed(&mut self, share: f64) {
        self.above = [share * (self.heater.top - self.ambient); 2];
    }

    fn switch(&mut self, on: bool) {
        (self.on, self.closed, self.reached) = (on, true, None);
    }

    fn until(&mut self, time: f64) {
        while self.time < time - STEP / 2.0 {
            self.advance();
        }
    }
}

/// e^(M t) by Sylvester's formula: M has two different real modes, because its cross terms are positive.
fn exponential(m: [[f64; 2]; 2], t: f64) -> [[f64; 2]; 2] {
    let (middle, half) = ((m[0][0] + m[1][1]) / 2.0, (m[0][0] - m[1][1]) / 2.0);
    let apart = (half * half + m[0][1] * m[1][0]).sqrt();
    let (fast, slow) = (middle - apart, middle + apart);
    let (of_fast, of_slow) = ((fast * t).exp(), (slow * t).exp());
    let unit = |i: usize, j: usize| if i == j { 1.0 } else { 0.0 };
    [0, 1].map(|i| {
        [0, 1].map(|j| {
            (of_slow * (m[i][j] - fast * unit(i, j)) - of_fast * (m[i][j] - slow * unit(i, j))) / (slow - fast)
        })
    })
}

/// Where M x + (heats, 0) is nothing.
fn settles(m: [[f64; 2]; 2], heats: f64) -> [f64; 2] {
    let determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    [-heats * m[1][1] / determinant, heats * m[1][0] / determinant]
}
