//! Combined standard uncertainty, effective degrees of freedom and expanded uncertainty: JCGM 100:2008 (GUM) 5.1.2, G.4.1.

use super::t_quantile;

/// One component of an uncertainty budget.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Component {
    /// How much the result changes with the input: ∂y/∂x.
    pub sensitivity: f64,
    /// Standard uncertainty of the input.
    pub u: f64,
    /// Its degrees of freedom; none means infinite, an uncertainty that is taken as known.
    pub df: Option<f64>,
}

/// What the components come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Combined {
    /// Combined standard uncertainty.
    pub u: f64,
    /// Effective degrees of freedom.
    pub df: EffectiveDf,
}

/// Effective degrees of freedom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum EffectiveDf {
    /// ν of the Welch–Satterthwaite formula.
    Finite(f64),
    /// No component with finite degrees of freedom contributes.
    Infinite,
    /// The combined uncertainty is zero.
    Undefined,
}

/// A coverage factor and the uncertainty expanded by it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coverage {
    /// Coverage factor; none where the uncertainty is zero.
    pub k: Option<f64>,
    /// Expanded uncertainty.
    pub expanded: f64,
}

/// A ν computed this close below an integer is that integer: 3.999 999 999 999 999 6 is not 3 after truncation.
const WHOLE: f64 = 1e-12;

/// Combines independent `components`; none when one is not finite or has degrees of freedom not above 0.
pub fn welch_satterthwaite(components: &[Component]) -> Option<Combined> {
    let contributions = || {
        let all = components.iter().map(|c| ((c.sensitivity * c.u).abs(), c.df));
        all.filter(|(contribution, _)| *contribution != 0.0)
    };
    let usable = |(contribution, df): (f64, Option<f64>)| contribution.is_finite() && df.is_none_or(|df: f64| df > 0.0);
    if !contributions().all(usable) {
        return None;
    }
    let largest = contributions().map(|(contribution, _)| contribution).fold(0.0, f64::max);
    if largest == 0.0 {
        return Some(Combined { u: 0.0, df: EffectiveDf::Undefined });
    }
    // In units of the largest, so that fourth powers stay in range.
    let (mut variance, mut weighted) = (0.0, 0.0);
    for (contribution, df) in contributions() {
        let square = (contribution / largest).powi(2);
        variance += square;
        weighted += df.map_or(0.0, |df| square * square / df);
    }
    let u = largest * variance.sqrt();
    let df = if weighted == 0.0 { EffectiveDf::Infinite } else { EffectiveDf::Finite(variance * variance / weighted) };
    Some(Combined { u, df })
}

impl EffectiveDf {
    /// ν truncated to the next lower integer (GUM G.4.1, note 1).
    pub fn truncated(self) -> EffectiveDf {
        match self {
            EffectiveDf::Finite(df) => EffectiveDf::Finite((df * (1.0 + WHOLE)).floor()),
            other => other,
        }
    }

    /// The number, where there is one.
    pub fn finite(self) -> Option<f64> {
        match self {
            EffectiveDf::Finite(df) => Some(df),
            _ => None,
        }
    }
}

impl Combined {
    /// The uncertainty expanded to `probability` with k at truncated degrees of freedom, as the GUM does in H.1.6; none
    /// when ν is below 1 or the probability is not between 0 and 1.
    pub fn expand(&self, probability: f64) -> Option<Coverage> {
        self.expand_at(probability, self.df.truncated())
    }

    /// The uncertainty expanded to `probability` with k at the real-valued ν.
    pub fn expand_untruncated(&self, probability: f64) -> Option<Coverage> {
        self.expand_at(probability, self.df)
    }

    fn expand_at(&self, probability: f64, df: EffectiveDf) -> Option<Coverage> {
        if df == EffectiveDf::Undefined {
            return Some(Coverage { k: None, expanded: 0.0 });
        }
        let k = t_quantile(probability, df.finite())?;
        Some(Coverage { k: Some(k), expanded: k * self.u })
    }
}
