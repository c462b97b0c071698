//! The command that runs reference-case files.

use std::process::{Command, ExitCode, Stdio};

use serde_json::{Value, json};
use soakbook::desk::cases::{Report, check, run};

/// The 95 % quantile of Student's t for 4 degrees of freedom, mpmath 1.4.1.
const T: f64 = 2.7764451051977943;

fn file(procedure: &str, within: Value, cases: Value) -> String {
    json!({ "file": procedure, "within": within, "cases": cases }).to_string()
}

fn quantile_file(expected: Value) -> String {
    let case = json!({ "id": "a", "input": { "central_probability": 0.95, "df": 4 }, "expected": { "t": expected } });
    file("t_quantile", json!({ "rel": 1e-9, "abs": 0 }), json!([case]))
}

#[track_caller]
fn report(text: &str) -> Report {
    check(text).unwrap()
}

#[test]
fn a_case_passes_within_its_tolerance_and_fails_beyond() {
    let passed = report(&quantile_file(json!(T * (1.0 + 1e-10))));
    assert_eq!((passed.procedure.as_str(), passed.cases, passed.failures.len()), ("t_quantile", 1, 0));
    assert!((0.9e-10..1.1e-10).contains(&passed.worst), "{}", passed.worst);
    let failed = report(&quantile_file(json!(T * (1.0 + 1e-8))));
    assert!(failed.failures[0].starts_with("case a: t is 2.776445"), "{:?}", failed.failures);
}

#[test]
fn undefined_is_expected_as_null_or_in_words() {
    let with = |df: Value, expected: Value| {
        let input = json!({ "central_probability": 0.95, "df": df });
        let case = json!({ "id": "a", "input": input, "expected": { "t": expected } });
        report(&file("t_quantile", json!("exact"), json!([case]))).failures.len()
    };
    assert_eq!(with(json!(0), Value::Null), 0);
    assert_eq!(with(json!(0), json!("undefined (no degrees of freedom)")), 0);
    assert_eq!(with(json!(0), json!(1.0)), 1);
    assert_eq!(with(json!(4), Value::Null), 1);
}

#[test]
fn a_status_other_than_ok_demands_a_refusal() {
    let with = |temperatures: [f64; 4], status: &str| {
        let input = json!({ "model": "T = Ta + A*(1-exp(-t/tau))", "t": [0, 30, 60, 90], "T": temperatures });
        let case = json!({ "id": "a", "input": input, "expected": { "status": status } });
        report(&file("exp_fit", json!({ "rel": 1e-6 }), json!([case]))).failures.len()
    };
    assert_eq!(with([20.0, 50.0, 65.0, 72.5], "ok"), 0);
    assert_eq!(with([20.0, 50.0, 65.0, 72.5], "refuse"), 1);
    assert_eq!(with([20.0, 20.0, 20.0, 20.0], "refuse"), 0);
    assert_eq!(with([20.0, 20.0, 20.0, 20.0], "ok"), 1);
}

#[test]
fn only_the_outputs_named_are_compared_each_with_its_own_tolerance() {
    let case = json!({
        "id": "a",
        "input": { "x": [57.2, 57.5], "confidence": 0.95 },
        "expected": { "n": 2, "mean": 57.36, "sd": 99.0 },
    });
    let mut file = json!({ "file": "mean_sd_tinterval", "within": "exact", "cases": [case] });
    assert_eq!(report(&file.to_string()).failures.len(), 2);
    file["compare"] = json!(["n", "mean"]);
    assert_eq!(report(&file.to_string()).failures.len(), 1);
    file["within_output"] = json!({ "mean": { "rel": 0, "abs": 0.02 } });
    assert_eq!(report(&file.to_string()).failures, Vec::<String>::new());
    // A name that is never compared is told, whether the procedure knows it or not.
    for name in ["no such output", "lo"] {
        file["compare"] = json!(["n", name]);
        let got = check(&file.to_string()).unwrap_err();
        assert_eq!(got, format!("\"compare\" names {name:?}, which no case expects"));
    }
}

#[test]
fn an_output_that_no_case_can_expect_may_be_named() {
    let with = |temperatures: &[f64], expected: Value| {
        let times: Vec<usize> = (0..temperatures.len()).map(|i| 30 * i).collect();
        let input = json!({ "model": "T = Ta + A*(1-exp(-t/tau))", "t": times, "T": temperatures });
        let case = json!({ "id": "a", "input": input, "expected": expected });
        let mut file = json!({ "file": "exp_fit", "within": { "rel": 1e-9 }, "cases": [case] });
        file["compare"] = json!(["status", "s", "prediction"]);
        report(&file.to_string()).failures.len()
    };
    // Nothing is asked of the curve, or there is no curve.
    assert_eq!(with(&[20.0, 50.0, 65.0], json!({ "status": "ok", "s": null })), 0);
    assert_eq!(with(&[20.0, 50.0, 65.0], json!({ "status": "ok", "s": null, "prediction": { "y": 72.5 } })), 1);
    assert_eq!(with(&[20.0, 50.0], json!({ "status": "refuse" })), 0);
}

#[test]
fn a_file_that_is_none_is_named_with_the_reason() {
    #[track_caller]
    fn refused(text: &str, reason: &str) {
        let got = check(text).unwrap_err();
        assert!(got.contains(reason), "{got}");
    }
    let exact = || json!("exact");
    let input = json!({ "central_probability": 0.95 });
    let case = || json!([{ "id": "a", "input": input, "expected": { "t": 1.0 } }]);
    refused("", "not JSON: line 1");
    refused("[]", "no text named \"file\"");
    refused(&file("no_such_procedure", exact(), case()), "unknown procedure, \"no_such_procedure\"");
    refused(&file("t_quantile", exact(), json!([])), "\"cases\" is empty");
    refused(&file("t_quantile", exact(), json!({})), "no list named \"cases\"");
    refused(&file("t_quantile", json!({ "rel": -1.0 }), case()), "\"within\" must give");
    refused(&file("t_quantile", Value::Null, case()), "\"within\" must give");
    refused(&json!({ "file": "t_quantile", "cases": case() }).to_string(), "no tolerance named \"within\"");
    refused(&file("t_quantile", exact(), json!([{ "id": "a", "expected": {} }])), "case a: no object named \"input\"");
    refused(&file("t_quantile", exact(), json!([{ "input": {} }])), "case number 0: no object named \"expected\"");
    refused(
        &file("t_quantile", exact(), json!([{ "id": "a", "input": { "central_probability": "x" }, "expected": {} }])),
        "\"central_probability\" must be a number",
    );
    let lists = json!([{ "id": "a", "input": { "x": [1, 2], "y": [1], "confidence": 0.95 }, "expected": {} }]);
    refused(&file("theil_sen", exact(), lists), "\"x\" and \"y\" must be of one length");
    // RFC 9562, 5.7: 48 bits of time, 12 of rand_a.
    let id = |unix_ms: u64, rand_a: u32| {
        let input = json!({ "unix_ts_ms": unix_ms, "rand_a": rand_a, "rand_b_hex": "0000000000000000" });
        let expected = json!({ "version": 7 });
        file("uuid7", exact(), json!([{ "id": "a", "input": input, "expected": expected }]))
    };
    assert_eq!(report(&id((1 << 48) - 1, 4095)).failures.len(), 0);
    refused(&id(1 << 48, 0), "\"unix_ts_ms\" must have no more than 48 bits");
    refused(&id(0, 4096), "\"rand_a\" must have no more than 12 bits");
    refused("{\"file\": \"t_quantile\", \"file\": \"gesd\"}", "occurs twice");
}

#[test]
fn the_exit_status_tells_passed_failed_and_unusable_apart() {
    let folder = std::env::temp_dir().join(format!("soakbook-cases-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let write = |name: &str, text: &str| {
        let path = folder.join(name);
        std::fs::write(&path, text).unwrap();
        path
    };
    let good = write("good.json", &quantile_file(json!(T)));
    let bad = write("bad.json", &quantile_file(json!(1.0)));
    let none = write("none.json", "no cases");
    let missing = folder.join("missing.json");
    let status = |files: &[&std::path::PathBuf]| run(&files.iter().map(|path| (*path).clone()).collect::<Vec<_>>());
    assert_eq!(status(&[&good, &good]), ExitCode::from(0));
    assert_eq!(status(&[&good, &bad]), ExitCode::from(1));
    assert_eq!(status(&[&bad, &none]), ExitCode::from(2));
    assert_eq!(status(&[&missing]), ExitCode::from(2));
    assert_eq!(status(&[]), ExitCode::from(2));
    // A device that takes nothing: what nobody can read has not been checked.
    if let Ok(full) = std::fs::OpenOptions::new().write(true).open("/dev/full") {
        let mut command = Command::new(env!("CARGO_BIN_EXE_soakbook"));
        let output = command.arg("cases").arg(&good).stdout(full).stderr(Stdio::piped()).output().unwrap();
        assert_eq!(output.status.code(), Some(2));
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(said.contains("the report cannot be written"), "{said}");
    }
    std::fs::remove_dir_all(&folder).unwrap();
}
