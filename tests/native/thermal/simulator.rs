//! A heater and a detector as two bodies, integrated numerically: a heater block that the heater warms and that loses heat to the
//! air, and a face with the detector that the block warms. The display's sensor sits between them. A thermostat with
//! hysteresis holds the top temperature. Losses grow with the difference to the power of 5/4 (free convection), so nothing
//! here follows the profile that is fitted.

/// Pseudo-random numbers: SplitMix64 (Steele, Lea & Flood 2014, Fast splittable pseudorandom number generators).
pub(super) struct Random(pub(super) u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Anywhere between two numbers.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    /// Normal about 0 with standard deviation `sd`: Box & Muller (1958).
    pub(super) fn normal(&mut self, sd: f64) -> f64 {
        let radius = (-2.0 * (1.0 - self.between(0.0, 1.0)).ln()).sqrt();
        sd * radius * (std::f64::consts::TAU * self.between(0.0, 1.0)).cos()
    }
}

/// A simulated heater with a detector in place, whatever its equations.
pub(super) trait Simulated {
    type Use: Heats;

    /// From ambient temperature, under a supply and in air that differ from use to use.
    fn start(&self, random: &mut Random) -> Self::Use;

    /// The top temperature as set, °C.
    fn top(&self) -> f64;
}

/// One use of a simulated heater.
pub(super) trait Heats: Clone {
    fn time(&self) -> f64;

    fn ambient(&self) -> f64;

    /// What the display's sensor has.
    fn display(&self) -> f64;

    /// When the heater first stood at its top temperature since heat on.
    fn reached(&self) -> Option<f64>;

    /// The heater is somewhere between ambient and top temperature.
    fn warmed(&mut self, share: f64);

    fn switch(&mut self, on: bool);

    /// Goes on until `time`.
    fn until(&mut self, time: f64);
}

/// One heater with a detector in place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heater {
    /// Heating rate of the block with nothing lost, K/s, at the nominal supply.
    power: f64,
    /// Exchange with the face, 1/s of the block.
    exchange: f64,
    /// Heat capacity of the face over that of the block.
    share: f64,
    /// Loss of block and face at 50 K above ambient, 1/s.
    loss: [f64; 2],
    /// How much of the display's sensor is block.
    sensor: f64,
    pub(super) top: f64,
    hysteresis: f64,
}

impl Heater {
    pub(super) fn any(random: &mut Random) -> Heater {
        Heater {
            power: random.between(0.45, 0.7),
            exchange: random.between(0.08, 0.14),
            share: random.between(0.3, 0.5),
            loss: [random.between(0.0015, 0.003), random.between(0.001, 0.002)],
            sensor: random.between(0.0, 0.5),
            top: random.between(65.0, 95.0),
            hysteresis: random.between(0.4, 1.0),
        }
    }

    /// The same with this share of its heating power.
    pub(super) fn weakened(self, share: f64) -> Heater {
        Heater { power: share * self.power, ..self }
    }
}

impl Simulated for Heater {
    type Use = Use;

    fn start(&self, random: &mut Random) -> Use {
        // Supply: sd 2 %; air: sd 5 %; ambient over a day of work.
        let (volts, air) = (1.0 + random.normal(0.02), 1.0 + random.normal(0.05));
        let ambient = random.between(12.0, 30.0);
        let (block, face) = (ambient, ambient);
        let supply = volts * volts;
        Use { heater: *self, ambient, supply, air, block, face, on: false, thermostat: true, time: 0.0, reached: None }
    }

    fn top(&self) -> f64 {
        self.top
    }
}

/// One use of a heater.
#[derive(Clone)]
pub(super) struct Use {
    heater: Heater,
    ambient: f64,
    /// Heating power over the nominal: the supply squared.
    supply: f64,
    /// Losses over the usual ones: the air.
    air: f64,
    block: f64,
    face: f64,
    on: bool,
    thermostat: bool,
    pub(super) time: f64,
    /// When the display first showed the top temperature since heat on.
    pub(super) reached: Option<f64>,
}

/// Step of the integration, s: a hundredth of the fastest time constant.
const STEP: f64 = 0.05;

impl Heats for Use {
    fn time(&self) -> f64 {
        self.time
    }

    fn ambient(&self) -> f64 {
        self.ambient
    }

    fn display(&self) -> f64 {
        self.heater.sensor * self.block + (1.0 - self.heater.sensor) * self.face
    }

    fn reached(&self) -> Option<f64> {
        self.reached
    }

    fn warmed(&mut self, share: f64) {
        let start = self.ambient + share * (self.heater.top - self.ambient);
        (self.block, self.face) = (start, start);
    }

    fn switch(&mut self, on: bool) {
        (self.on, self.thermostat, self.reached) = (on, true, None);
    }

    fn until(&mut self, time: f64) {
        while self.time < time - STEP / 2.0 {
            self.step();
        }
    }
}

impl Use {
    /// Goes on until the display shows `temperature` on the way up; false when it takes longer than `most` seconds.
    pub(super) fn until_shown(&mut self, temperature: f64, most: f64) -> bool {
        let end = self.time + most;
        while self.display() < temperature && self.time < end {
            self.step();
        }
        self.display() >= temperature
    }

    fn step(&mut self) {
        // Heun's method (RK2) between the thermostat's switchings.
        let first = self.slopes(self.block, self.face);
        let second = self.slopes(self.block + STEP * first.0, self.face + STEP * first.1);
        self.block += STEP * (first.0 + second.0) / 2.0;
        self.face += STEP * (first.1 + second.1) / 2.0;
        self.time += STEP;
        let display = self.display();
        if display >= self.heater.top {
            self.thermostat = false;
            if self.on {
                self.reached.get_or_insert(self.time);
            }
        } else if display < self.heater.top - self.heater.hysteresis {
            self.thermostat = true;
        }
    }

    fn slopes(&self, block: f64, face: f64) -> (f64, f64) {
        let heater = &self.heater;
        let lost = |loss: f64, at: f64| {
            let above = at - self.ambient;
            self.air * loss * above * (above.abs() / 50.0).sqrt().sqrt()
        };
        let heat = if self.on && self.thermostat { heater.power * self.supply } else { 0.0 };
        let across = heater.exchange * (block - face);
        (heat - across - lost(heater.loss[0], block), across / heater.share - lost(heater.loss[1], face) / heater.share)
    }
}
