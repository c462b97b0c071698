//! The procedures by the names that case files use: reading the input, calling the function, naming the outputs.

use serde_json::{Map, Value, json};

use crate::encoding::{self, csv};
use crate::stats;
use crate::thermal::{Shape, exp_fit as fit};
use crate::units::{self, Celsius, Seconds};

/// The outputs of a case by name.
type Outputs = Map<String, Value>;
/// Runs one case, or says what is wrong with its shape.
pub(super) type Procedure = fn(&Value) -> Result<Outputs, String>;

/// The procedure of that name.
pub(super) fn named(name: &str) -> Option<Procedure> {
    Some(match name {
        "conformance" => conformance,
        "csv_rfc4180" => csv_rfc4180,
        "exp_fit" => exp_fit,
        "gesd" => gesd,
        "hypergeom_bound" => hypergeom_bound,
        "json_canonical" => json_canonical,
        "kalman_scalar" => kalman_scalar,
        "mean_sd_tinterval" => mean_sd_tinterval,
        "modified_z" => modified_z,
        "sha256" => sha256,
        "t_quantile" => t_quantile,
        "temperature" => temperature,
        "theil_sen" => theil_sen,
        "uuid7" => uuid7,
        "welch_satterthwaite" => welch_satterthwaite,
        "zero_failure_n" => zero_failure_n,
        _ => return None,
    })
}

fn outputs(value: Value) -> Outputs {
    match value {
        Value::Object(outputs) => outputs,
        _ => Map::new(),
    }
}

fn refused(reason: impl ToString) -> Outputs {
    outputs(json!({ "status": reason.to_string() }))
}

fn member<'a>(of: &'a Value, name: &str) -> Result<&'a Value, String> {
    of.get(name).ok_or_else(|| format!("the input has no {name:?}"))
}

fn input(case: &Value) -> Result<&Value, String> {
    case.get("input").filter(|input| input.is_object()).ok_or_else(|| "no object named \"input\"".to_string())
}

fn number(of: &Value, name: &str) -> Result<f64, String> {
    member(of, name)?.as_f64().ok_or_else(|| format!("{name:?} must be a number"))
}

/// A number, or none where it is null or absent.
fn optional(of: &Value, name: &str) -> Result<Option<f64>, String> {
    match of.get(name) {
        None | Some(Value::Null) => Ok(None),
        Some(_) => number(of, name).map(Some),
    }
}

fn whole(of: &Value, name: &str) -> Result<u64, String> {
    let value = number(of, name)?;
    let whole = value >= 0.0 && value.fract() == 0.0 && value <= 9e15;
    if whole { Ok(value as u64) } else { Err(format!("{name:?} must be a whole number from 0")) }
}

fn text<'a>(of: &'a Value, name: &str) -> Result<&'a str, String> {
    member(of, name)?.as_str().ok_or_else(|| format!("{name:?} must be a text"))
}

fn list<'a, T>(of: &'a Value, name: &str, item: impl Fn(&'a Value) -> Option<T>) -> Result<Vec<T>, String> {
    let items = member(of, name)?.as_array().and_then(|items| items.iter().map(item).collect());
    items.ok_or_else(|| format!("{name:?} is not a list of what it must hold"))
}

fn numbers(of: &Value, name: &str) -> Result<Vec<f64>, String> {
    list(of, name, Value::as_f64)
}

/// An item that may be null.
fn number_or_null(value: &Value) -> Option<Option<f64>> {
    if value.is_null() { Some(None) } else { value.as_f64().map(Some) }
}

fn t_quantile(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let t = stats::t_quantile(number(input, "central_probability")?, optional(input, "df")?);
    Ok(outputs(json!({ "t": t })))
}

fn mean_sd_tinterval(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let (x, confidence) = (numbers(input, "x")?, number(input, "confidence")?);
    let summary = stats::mean_sd(&x);
    let interval = summary.and_then(|summary| summary.interval(confidence));
    Ok(outputs(json!({
        "n": x.len(),
        "mean": summary.map(|s| s.mean),
        "sd": summary.and_then(|s| s.sd),
        "sem": summary.and_then(|s| s.sem()),
        "df": summary.map(|s| s.df()),
        "t_crit": interval.map(|i| i.t),
        "half_width": interval.map(|i| i.half_width),
        "lo": interval.map(|i| i.lo),
        "hi": interval.map(|i| i.hi),
    })))
}

fn welch_satterthwaite(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let component = |item: &Value| match item.as_array()?.as_slice() {
        [c, u, df] => Some(stats::Component { sensitivity: c.as_f64()?, u: u.as_f64()?, df: number_or_null(df)? }),
        _ => None,
    };
    let components = list(input, "components_[c,u,df|null=inf]", component)?;
    let coverage = number(input, "coverage")?;
    let Some(combined) = stats::welch_satterthwaite(&components) else {
        return Ok(refused("refused: a component is not finite or its degrees of freedom are not above 0"));
    };
    let truncated = combined.expand(coverage);
    let real = combined.expand_untruncated(coverage);
    Ok(outputs(json!({
        "u_c": combined.u,
        "nu_eff": combined.df.finite(),
        "nu_trunc": combined.df.truncated().finite(),
        "k": real.and_then(|c| c.k),
        "U": real.map(|c| c.expanded),
        "k_trunc": truncated.and_then(|c| c.k),
        "U_trunc": truncated.map(|c| c.expanded),
        "infinite_df": combined.df == stats::EffectiveDf::Infinite,
    })))
}

fn conformance(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let u = number(input, "u")?;
    let guard = 2.0 * u;
    let measured = stats::Measured { value: number(input, "y")?, u, df: optional(input, "df")?, guard };
    let limits = stats::Limits { lower: optional(input, "TL")?, upper: optional(input, "TU")? };
    let Some(judged) = stats::conformance(&measured, &limits) else {
        return Ok(refused("refused: limits, uncertainty or degrees of freedom out of range"));
    };
    let binary = |pass: bool| if pass { "pass" } else { "fail" };
    let limit_result = match judged.limit_result {
        stats::LimitResult::Within => "pass",
        stats::LimitResult::WithinCloseToLimit => "conditional pass",
        stats::LimitResult::OutsideWithinUncertainty => "conditional fail",
        stats::LimitResult::Outside => "fail",
    };
    Ok(outputs(json!({
        "p_conform": judged.p_conform,
        "p_nonconform": judged.p_nonconform,
        "U_k2": guard,
        "acceptance_limits_w_eq_U": [judged.acceptance.lower, judged.acceptance.upper],
        "acceptance_interval_empty": judged.acceptance_empty,
        "decision_simple": binary(judged.within_limits),
        "decision_w_eq_U_binary": binary(judged.limit_result == stats::LimitResult::Within),
        "decision_w_eq_U_nonbinary": limit_result,
    })))
}

fn temperature(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let scale = |name: &str| match text(input, name)? {
        "C" => Ok(units::Scale::C),
        "F" => Ok(units::Scale::F),
        "K" => Ok(units::Scale::K),
        other => Err(format!("{name:?} must be C, F or K, not {other:?}")),
    };
    let convert = match text(input, "what")? {
        "point" => units::point_to,
        "interval" => units::interval_to,
        rate if rate.starts_with("rate") => units::rate_to,
        other => return Err(format!("\"what\" must be point, interval or a rate, not {other:?}")),
    };
    Ok(outputs(json!({ "value": convert(number(input, "value")?, scale("from")?, scale("to")?) })))
}

fn modified_z(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let x = numbers(input, "x")?;
    let scored = stats::modified_z(&x, number(input, "cutoff")?);
    let Some(scored) = scored else { return Ok(refused("undefined: no values")) };
    Ok(outputs(json!({
        "median": scored.median,
        "mad": scored.mad,
        "modified_z": scored.scores.map_or_else(|| vec![Value::Null; x.len()], |s| s.into_iter().map(Value::from).collect()),
        "outlier_indices": scored.outliers,
        "mean_abs_dev_about_median": scored.mean_ad,
        "fallback_z_meanAD_1.253314": scored.fallback,
    })))
}

fn gesd(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let x = numbers(input, "x")?;
    let most = whole(input, "max_outliers")? as usize;
    let Some(found) = stats::gesd(&x, most, number(input, "alpha")?, 0.0) else {
        return Ok(refused("refused: alpha must lie between 0 and 1"));
    };
    Ok(outputs(json!({
        "n": x.len(),
        "R": found.steps.iter().map(|step| step.r).collect::<Vec<_>>(),
        "lambda": found.steps.iter().map(|step| step.lambda).collect::<Vec<_>>(),
        "n_outliers": found.outliers,
        "outlier_indices": found.outlier_indices().collect::<Vec<_>>(),
        "steps_done": found.steps.len(),
    })))
}

fn theil_sen(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let (x, y) = (numbers(input, "x")?, numbers(input, "y")?);
    if x.len() != y.len() {
        return Err("\"x\" and \"y\" must be of one length".to_string());
    }
    let line = stats::theil_sen(&x, &y, number(input, "confidence")?);
    let Some(line) = line else { return Ok(outputs(json!({ "status": "undefined", "n_slopes": 0 }))) };
    Ok(outputs(json!({
        "status": "ok",
        "slope": line.slope,
        "intercept_separate": line.intercept_separate,
        "intercept_joint": line.intercept_joint,
        "lo": line.interval.map(|[lo, _]| lo),
        "hi": line.interval.map(|[_, hi]| hi),
        "n_slopes": line.slopes,
    })))
}

fn hypergeom_bound(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let (population, sample) = (whole(input, "N")?, whole(input, "n")?);
    let bound =
        stats::hypergeom_bound(population, sample, whole(input, "defects_found")?, number(input, "confidence")?);
    let Some(bound) = bound else { return Ok(refused("refused: the numbers contradict each other")) };
    Ok(outputs(json!({
        "D_upper": bound.upper,
        "p_upper": bound.upper as f64 / population as f64,
        "P_at_D_upper": bound.p_at_upper,
        "P_at_D_upper_plus_1": bound.p_above,
        "D_lower_one_sided": bound.lower,
    })))
}

fn zero_failure_n(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let (limit, confidence) = (number(input, "p_max")?, number(input, "confidence")?);
    if optional(input, "N")?.is_none() {
        return Ok(outputs(json!({ "n": stats::zero_failure_n_infinite(limit, confidence) })));
    }
    let population = whole(input, "N")?;
    let proves = |sentence: stats::Acceptable| {
        let excluded = sentence.excluded(population, limit);
        (excluded, excluded.and_then(|excluded| stats::zero_failure_n(population, excluded, confidence)))
    };
    let (ceil, n_ceil) = proves(stats::Acceptable::FewerThanLimit);
    let (floor, n_floor) = proves(stats::Acceptable::UpToLimit);
    Ok(outputs(json!({ "D_ceil": ceil, "n_ceil": n_ceil, "D_floor_plus_1": floor, "n_floor_plus_1": n_floor })))
}

fn kalman_scalar(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let readings = list(input, "z", number_or_null)?;
    let start = stats::Estimate { x: number(input, "x0")?, variance: number(input, "P0")? };
    let track = stats::kalman_scalar(start, number(input, "Q")?, number(input, "R")?, &readings);
    Ok(outputs(json!({
        "x": track.iter().map(|(estimate, _)| estimate.x).collect::<Vec<_>>(),
        "P": track.iter().map(|(estimate, _)| estimate.variance).collect::<Vec<_>>(),
        "K": track.iter().map(|(_, gain)| *gain).collect::<Vec<_>>(),
    })))
}

fn exp_fit(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let shape = match text(input, "model")?.replace(' ', "").as_str() {
        "T=Ta+A*(1-exp(-t/tau))" => Shape::Heating,
        "T=Ta+A*exp(-t/tau)" => Shape::Cooling,
        _ => return Err("\"model\" must be one of the two first-order curves".to_string()),
    };
    let (times, temperatures) = (numbers(input, "t")?, numbers(input, "T")?);
    if times.len() != temperatures.len() {
        return Err("\"t\" and \"T\" must be of one length".to_string());
    }
    let readings: Vec<_> = times.into_iter().map(Seconds).zip(temperatures.into_iter().map(Celsius)).collect();
    let fitted = match fit(shape, &readings, optional(input, "Ta_fixed")?.map(Celsius)) {
        Ok(fitted) => fitted,
        Err(reason) => return Ok(refused(reason)),
    };
    let mut out = outputs(json!({
        "status": "ok",
        "n": fitted.n,
        "params": { "Ta": fitted.ambient.0, "A": fitted.amplitude.0, "tau": fitted.tau.0 },
        "std_errors": fitted.std_errors().map(|(ambient, a, tau)| json!({ "Ta": ambient.0, "A": a.0, "tau": tau.0 })),
        "sse": fitted.sse,
        "df": fitted.df(),
        "s": fitted.residual_sd().map(|sd| sd.0),
        "prediction": null,
        "time_to_reach": null,
    }));
    let confidence = optional(input, "confidence")?.unwrap_or(0.95);
    if let Some(time) = optional(input, "tpred")? {
        let predicted = fitted.predict(Seconds(time), confidence);
        let spread = predicted.spread;
        let prediction = json!({
            "t": time,
            "y": predicted.value.0,
            "se_mean": spread.map(|s| s.se_mean.0),
            "se_pred": spread.map(|s| s.se_pred.0),
            "lo": spread.map(|s| s.lo.0),
            "hi": spread.map(|s| s.hi.0),
            "confidence": confidence,
        });
        out.insert("prediction".to_string(), prediction);
    }
    if let Some(temperature) = optional(input, "wtrip")? {
        let time = fitted.time_to_reach(Celsius(temperature)).map(|time| time.0);
        out.insert("time_to_reach".to_string(), json!({ "T": temperature, "t": time }));
    }
    Ok(out)
}

fn sha256(case: &Value) -> Result<Outputs, String> {
    let bytes = match case.get("input_hex") {
        Some(_) => encoding::from_hex(text(case, "input_hex")?).ok_or("\"input_hex\" must be pairs of hex digits")?,
        None => repeated(text(case, "input")?).ok_or("\"input\" must read: the byte 0x… repeated … times")?,
    };
    let base64 = encoding::base64(&encoding::sha256(&bytes));
    Ok(outputs(json!({ "sha256": encoding::sha256_hex(&bytes), "base64": base64 })))
}

/// The bytes of "the byte 0x61 repeated 1000000 times".
fn repeated(words: &str) -> Option<Vec<u8>> {
    const MOST: usize = 1 << 28;
    let (byte, times) = words.strip_prefix("the byte 0x")?.strip_suffix(" times")?.split_once(" repeated ")?;
    let times = times.parse().ok().filter(|times| *times <= MOST)?;
    Some(vec![u8::from_str_radix(byte, 16).ok()?; times])
}

fn json_canonical(case: &Value) -> Result<Outputs, String> {
    let value = match encoding::parse_strict(text(case, "input_json_text")?) {
        Ok(value) => value,
        Err(reason) => return Ok(refused(reason)),
    };
    let canonical = encoding::canonical(&value);
    Ok(outputs(json!({
        "canonical_utf8_hex": encoding::to_hex(canonical.as_bytes()),
        "sha256_hex": encoding::sha256_hex(canonical.as_bytes()),
        "content_digest": encoding::content_digest(canonical.as_bytes()),
        "canonical_text": canonical,
    })))
}

fn uuid7(case: &Value) -> Result<Outputs, String> {
    let input = input(case)?;
    let bits = |value: u64, name: &str, bits: u32| {
        if value >> bits == 0 { Ok(value) } else { Err(format!("{name:?} must have no more than {bits} bits")) }
    };
    let unix_ms = bits(whole(input, "unix_ts_ms")?, "unix_ts_ms", 48)?;
    let rand_a = bits(whole(input, "rand_a")?, "rand_a", 12)? as u16;
    let rand_b = encoding::from_hex(text(input, "rand_b_hex")?);
    let rand_b: [u8; 8] =
        rand_b.and_then(|bytes| bytes.try_into().ok()).ok_or("\"rand_b_hex\" must be 16 hex digits")?;
    let mut random = [0; 10];
    random[..2].copy_from_slice(&rand_a.to_be_bytes());
    random[2..].copy_from_slice(&rand_b);
    let uuid = encoding::uuid7(unix_ms, random);
    let variant = if uuid.get_variant() == uuid::Variant::RFC4122 { "10xx" } else { "another" };
    Ok(outputs(json!({ "text": uuid.to_string(), "version": uuid.get_version_num(), "variant": variant })))
}

fn csv_rfc4180(case: &Value) -> Result<Outputs, String> {
    let fields = |row: &Value| -> Option<Vec<String>> {
        row.as_array()?.iter().map(|field| field.as_str().map(str::to_string)).collect()
    };
    let rows = list(case, "rows", fields)?;
    let written = csv::write(&rows);
    let read = csv::read(&written).map(|rows| rows.into_iter().map(|row| row.fields).collect::<Vec<_>>());
    // The text counts only when it reads back as the rows it came from.
    let same = read.is_ok_and(|read| read == rows);
    Ok(outputs(json!({ "rfc4180_minimal_quotes": same.then_some(written) })))
}
