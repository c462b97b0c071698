//! Every formula, once: figures open to it, and the page "How it is computed" lists it.

/// How a number is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Method {
    /// What the number is.
    pub name: &'static str,
    /// How it comes out of its inputs, in the symbols of their names.
    pub formula: &'static str,
    /// Where the formula comes from; what is common practice, from memory or the project's own says so.
    pub source: &'static str,
}

/// A trip temperature that was read.
pub const TRIP_READ: Method = Method {
    name: "Trip temperature, read",
    formula: "reading − ΔT; u = √(d²/12 + u(cal)² + u(late)²), as far as known; ΔT what the heater rose before it was noticed",
    source: "JCGM 100:2008 (GUM) 4.1, 5.1.2, F.2.2.1, F.2.4.5",
};
/// A trip temperature without a reading.
pub const TRIP_ESTIMATED: Method = Method {
    name: "Trip temperature, estimated",
    formula: "T(t) − ΔT; u = √(u(T)² + u(cal)² + u(late)²), as far as known; T by the heater profile frozen at the start, narrowed by readings and \
              marks until the trip",
    source: "see Heater profile and Live estimate; JCGM 100:2008 (GUM) 4.1, 5.1.2, F.2.4.5",
};
/// What the heater rose before a trip was noticed.
pub const LATE: Method = Method {
    name: "Rise of the heater before a trip was noticed",
    formula: "ΔT = T(t) − T(t − lag) by the heater profile, mean over the counted trips; u(late) = √((change of ΔT over u(lag))² + u(profile)²), \
              u(profile) the larger u(rate) · lag together with what the times of the heater's cycle leave open; where the heater may have reached its upper \
              temperature within the lag or before it, half the heat-up of the lag, u(profile) that half/√3; common to all trips",
    source: "JCGM 100:2008 (GUM) 4.1, 4.3.7, 5.1.2, F.2.4.5; that an indication lags in the same way every time is the project's own",
};
/// The mean of the counted trips.
pub const OPERATING: Method = Method {
    name: "Operating temperature",
    formula: "sum of the counted trips / n, as heater temperature at trip; r = R/τh − (mean − Ta)/τh, or the constant rate, by the heater profile",
    source: "JCGM 100:2008 (GUM) 4.2.1; r: see Heater profile",
};
/// Its standard uncertainty.
pub const UNCERTAINTY: Method = Method {
    name: "Standard uncertainty u",
    formula: "√(u(A)² + u(cal)² + u(cpl)² + u(late)² + u(crv)² + u(set)²), as far as known; u(A) the larger of s/√n and d/√12; u(crv) = sum of \
              u(T) of the estimated trips / n; u(set) = |b| (n − 1)/√12 where the trips still settle",
    source: "JCGM 100:2008 (GUM) 4.2.3, 5.1.2, F.2.2.1; what is common to all trips is not divided by √n, 5.2.2 note 1; u(set) is the project's own: the settled value lies anywhere along the fitted drift \
             (rectangular, GUM 4.3.7)",
};
/// Its expanded uncertainty.
pub const EXPANDED: Method = Method {
    name: "Expanded uncertainty U (95%)",
    formula: "k · u; ν = u⁴ / Σ (uᵢ⁴/νᵢ)",
    source: "JCGM 100:2008 (GUM) G.4.1 (Welch–Satterthwaite), G.6.4",
};
/// The range of the counted trips.
pub const RANGE: Method = Method {
    name: "Range of the counted trips",
    formula: "largest − smallest",
    source: "NIST/SEMATECH e-Handbook 1.3.5.6",
};
/// The lower limit.
pub const LOWER_LIMIT: Method =
    Method { name: "Lower limit", formula: "rating + minus tolerance", source: LIMITS_FROM };
/// The upper limit.
pub const UPPER_LIMIT: Method = Method { name: "Upper limit", formula: "rating + plus tolerance", source: LIMITS_FROM };
const LIMITS_FROM: &str = "given by the owner in the procedure, else by the owner for this detector, else marked on the detector or in its \
                           listing";
/// How likely the operating temperature lies within the limits.
pub const CONFORMANCE: Method = Method {
    name: "Conformance probability",
    formula: "share of Student's t distribution about the operating temperature, with scale u and ν degrees of freedom, that lies within the \
              limits; the limit result draws the limits in and out by w",
    source: "JCGM 106:2012, 7; ILAC-G8:09/2019, 4.2.3 (non-binary, w = U)",
};
/// What a heater surely reaches.
pub const REACH: Method = Method {
    name: "Surely reached by the heater",
    formula: "H − U(H), below the upper limit; U(H) = k · √(u(cal)² + u(cpl)²), as far as known",
    source: "JCGM 100:2008 (GUM) 5.1.2, 6.2.1",
};
/// How far an element may lag behind the heater.
pub const ELEMENT_LAG: Method = Method {
    name: "Lag of the element behind the heater",
    formula: "r τ (1 − e^(−ΔT/(r τ))), ΔT the rise above ambient; at both ends of a range of time constants. Information, taken off nothing",
    source: "first-order response, Heskestad & Bill (1989), Fire Safety Journal 14, 113; the range of τ is the project's own figure",
};
/// The uncertainty against the window.
pub const TWICE: Method = Method {
    name: "Twice the expanded uncertainty",
    formula: "2 U, wider than the window",
    source: "ILAC-G8:09/2019, 4.2.2 (guard band w = U)",
};
/// The first trip against the others.
pub const FIRST_TRIP: Method = Method {
    name: "First trip earlier by",
    formula: "mean of the counted trips − first trip; u = √(σ² (1 + 1/n) + u(T)² + u(crv)² + u(late)²), σ the larger of s and d/√12, the others \
              where estimates or a lag are there; calibration, fit and, as far as the heater rises as fast, the lag are common to \
              both and drop out; the heater profile from cold and after cool-down does not",
    source: "difference of one value and a mean of n with a common spread: NIST/SEMATECH e-Handbook 7.3.1; that it comes earlier: common \
             practice, no published source",
};
/// The drift over the counted trips.
pub const SLOPE: Method = Method {
    name: "Slope from trip to trip",
    formula: "b = Σ(i − ī)(T − T̄) / Σ(i − ī)²; u(b) = the larger of s(residuals) and d/√12, divided by √Σ(i − ī)²; still settling where |b| > \
              t · u(b)",
    source: "least squares and its t test: NIST/SEMATECH e-Handbook 4.1.4.1; the floor is the project's own",
};
/// A heater's heating rate.
pub const PROFILE_RATE: Method = Method {
    name: "Heating rate at ambient temperature",
    formula: "dT/dt = P q − (T − Ta)/τh; P at T = Ta; mean over the profile runs",
    source: "first-order heat balance; least squares over all profile runs, GUM 4.2 and 5.2",
};
/// How far a heater would heat up.
pub const PROFILE_RISE: Method = Method {
    name: "Rise R: how far it would heat up above ambient",
    formula: "R = P τh",
    source: "first-order heat balance; law of propagation, GUM 5.2.2",
};
/// A heater's time constant of heating.
pub const PROFILE_HEATING: Method = Method {
    name: "Time constant of heating τh",
    formula: "dT/dt = (Ta + R − T)/τh",
    source: "first-order heat balance; least squares over all profile runs",
};
/// How far a display lags behind the heat.
pub const PROFILE_LAG: Method = Method {
    name: "Lag of the display λ",
    formula: "dq/dt = (s − q)/λ, s the switch",
    source: "first-order lag; kept where AICc asks for it (Hurvich & Tsai 1989)",
};
/// A heater's time constant of cooling.
pub const PROFILE_COOLING: Method = Method {
    name: "Time constant of cooling τc",
    formula: "dT/dt = (Ta − T)/τc",
    source: "first-order heat balance; least squares profile run by profile run, mean over the profile runs",
};
/// What a heater holds.
pub const PROFILE_HELD: Method = Method {
    name: "Held after reaching the top temperature",
    formula: "mean of the readings between “at top temperature” and “heater off”",
    source: "GUM 4.2; never below the display's step/√12 (GUM 4.3.7)",
};
/// What a profile leaves over.
pub const PROFILE_RESIDUAL: Method = Method {
    name: "Residual standard deviation",
    formula: "√(Σ(reading − profile)²/ν)",
    source: "least squares; never below the display's step/√12 (GUM 4.3.7)",
};
/// How far a test is from its neighbours.
pub const SCORE: Method = Method {
    name: "Modified z score",
    formula: "0.6745 (x − median)/scale, scale = MAD + d/√12, at least d/2; stands apart where |score| exceeds the cut-off or, from 15 detectors \
              on, generalized ESD names it; outlier where |x − median| also exceeds U(heaters) and, below 15 detectors, from estimates or where \
              U(heaters) is not known, U",
    source: "Iglewicz & Hoaglin (1993), How to Detect and Handle Outliers; Rosner (1983), Technometrics 25, 165; the allowance for steps, the \
             cut-off by n and U(heaters) are the project's own, by simulation: 1 healthy family in 20 flagged at most",
};
/// A family's shift.
pub const ALL_SHIFTED: Method = Method {
    name: "Median deviation from the rating",
    formula: "median, beyond U = k · u; u = √(u(med)² + u(sys)²), u(sys) calibration and fit, where both are known, lag and heater profile; u(med) the larger of √(π/2) σ/√n and d/√12, \
              σ = scale/0.6745, with (n − 1)/2 degrees of freedom",
    source: "standard error of the median of normal values, σ √(π/2n); JCGM \
             100:2008 (GUM) 5.1.2, F.2.2.1, G.4.1; the degrees of freedom are the project's own, by simulation: 1 healthy family in 20 \
             remarked at most",
};
/// A heater's shift.
pub const HEATER_APART: Method = Method {
    name: "This heater against the others",
    formula: "difference of the means, beyond U = k · u; u = √(s² (1/a + 1/b) + u(heaters)²), s pooled and not below d/√12, u(heaters)² of this heater \
              and of the others by their tests, where all are known, flagged ones left out",
    source: "two-sample t test: NIST/SEMATECH e-Handbook 7.3.1; JCGM 100:2008 (GUM) 5.1.2, F.2.2.1, G.4.1",
};
/// A shift with ambient temperature.
pub const WITH_AMBIENT: Method = Method {
    name: "Deviation per degree of ambient temperature",
    formula: "slope of deviation over ambient temperature, beyond t · u(b), flagged ones left out",
    source: "least squares and its t test: NIST/SEMATECH e-Handbook 4.1.4.1",
};
/// A position over the years.
pub const TREND: Method = Method {
    name: "Slope over the years",
    formula: "median of (T₂ − T₁)/(t₂ − t₁) over all pairs of points; 95% interval by the ranks of Kendall's statistic. One point a visit, the \
              mean of its first test with readings; a new line with another detector, heater or calibration and, for types that lag behind the \
              heater, another setting",
    source: "Theil (1950); Sen (1968), Journal of the American Statistical Association 63, 1379; what begins a new line is the project's own",
};
