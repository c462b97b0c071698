//! The chains of a bundle against their list and against themselves.

use super::bundle::ChainHead;
use super::fault::{BundleFault, Faults};
use super::spans::Spans;
use crate::book::entry::{Chain, Entry, Hash};
use crate::encoding::read_uuid;
use crate::encoding::stored::Stored;
use crate::order;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A row of the list of chains as it is written: count and gaps may be anything until they are compared.
pub(super) struct Row {
    chain: Chain,
    count: i64,
    last: Hash,
    gaps: Vec<(i64, i64)>,
}

pub(super) fn read_rows(rows: &[Value], faults: &mut Faults) -> Vec<Row> {
    let read = |row: &Value| {
        let text = |name| row.get(name).and_then(Value::as_str);
        let scope = text("scope")?.parse().ok()?;
        let chain = Chain { scope, phone: read_uuid(text("phone")?)? };
        let gaps = match row.get("gaps") {
            None => Vec::new(),
            Some(gaps) => Stored::from_value(gaps)?,
        };
        let count = row.get("count")?.as_i64().filter(|count| *count > 0)?;
        Some(Row { chain, count, last: text("last")?.parse().ok()?, gaps })
    };
    let mut heads = Vec::with_capacity(rows.len());
    for (index, row) in rows.iter().enumerate() {
        match read(row) {
            Some(head) => heads.push(head),
            None => faults.add(BundleFault::ChainRow { number: index + 1 }),
        }
    }
    heads
}

type Places = BTreeMap<Chain, BTreeMap<i64, BTreeSet<Hash>>>;

/// Compares the chains with their list and within themselves. A place of an entry that was refused is not missing.
pub(super) fn check_chains(
    entries: &[Entry],
    refused: &BTreeSet<(Chain, i64)>,
    rows: Vec<Row>,
    faults: &mut Faults,
) -> Vec<ChainHead> {
    let mut places = Places::new();
    for entry in entries {
        places.entry(entry.chain).or_default().entry(entry.seq).or_default().insert(entry.hash);
    }
    let mut listed: BTreeMap<Chain, Row> = BTreeMap::new();
    for row in rows {
        if let Some(twice) = listed.insert(row.chain, row) {
            faults.add(BundleFault::NotListedOnce { chain: twice.chain });
        }
    }
    let refused_in = |chain, from, to| refused.range((chain, from)..=(chain, to)).count();
    let refused_of = |chain| refused_in(chain, i64::MIN, i64::MAX);
    for (chain, row) in listed.iter().filter(|(chain, _)| !places.contains_key(chain)) {
        let count = BundleFault::Count { chain: *chain, listed: row.count, found: 0, tip: None };
        faults.unless(as_number(refused_of(*chain)) == row.count, count);
    }
    let heads: Vec<ChainHead> = places.iter().filter_map(|(chain, places)| ChainHead::of(*chain, places)).collect();
    let mut last_holds = BTreeSet::new();
    for head in &heads {
        let chain = head.chain;
        let Some(row) = listed.get(&chain) else {
            faults.add(BundleFault::NotListedOnce { chain });
            continue;
        };
        let mut found = as_number(head.count + refused_of(chain));
        let listed = row.count;
        let mut explained = found == listed;
        let tip = places.get(&chain).and_then(|places| places.last_key_value()).map_or(0, |(seq, _)| *seq);
        let open = Spans::of(head.gaps.clone());
        for (from, to) in row.gaps.iter().copied() {
            // If the entries after it were refused, the gap's end is unknown.
            let in_one = open.without(from, to).is_empty() || from > tip && refused_in(chain, to, i64::MAX) > 0;
            faults.unless(from <= to && in_one, BundleFault::NoGap { chain, from, to });
        }
        let of_chain = refused.range((chain, 0)..=(chain, i64::MAX)).map(|(_, seq)| (*seq, *seq));
        let told = Spans::of(row.gaps.iter().copied().chain(of_chain).collect());
        for (from, to) in head.gaps.iter().flat_map(|(from, to)| told.without(*from, *to)) {
            faults.add(BundleFault::Missing { chain, from, to });
            found = found.saturating_add((to - from).saturating_add(1));
        }
        // What is missing within the chain was named; the number tells what is missing behind it.
        explained |= found == listed;
        if head.last == row.last {
            last_holds.insert(chain);
        }
        if !explained {
            let found = head.count + refused_of(chain);
            faults.add(BundleFault::Count { chain, listed, found, tip: Some(tip) });
        } else if refused_in(chain, tip, i64::MAX) == 0 {
            faults.unless(head.last == row.last, BundleFault::Last { chain, tip });
        }
    }
    check_links(entries, &places, &last_holds, faults);
    heads
}

fn as_number(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}

/// Names every entry that does not name the one before it.
fn check_links(entries: &[Entry], places: &Places, last_holds: &BTreeSet<Chain>, faults: &mut Faults) {
    let at = |chain: Chain, seq: i64| places.get(&chain)?.get(&seq);
    let broken: BTreeSet<(Chain, i64)> = order::set(entries.iter().filter_map(|entry| {
        let prev = entry.prev?;
        // Nothing before it: the gap is named elsewhere.
        let before = at(entry.chain, entry.seq.saturating_sub(1))?;
        (!before.contains(&prev)).then_some((entry.chain, entry.seq))
    }));
    for &(chain, seq) in &broken {
        // What the next entry, or the list for the last one, still names is as it was written: then the one before is not.
        let next = (chain, seq.saturating_add(1));
        let is_last = places.get(&chain).and_then(|places| places.last_key_value()).map(|(tip, _)| *tip) == Some(seq);
        let holds = match at(next.0, next.1) {
            Some(_) => !broken.contains(&next),
            None => is_last && last_holds.contains(&chain),
        };
        faults.add(BundleFault::BrokenLink { chain, seq, holds });
    }
}

/// Entries, by number from 1, that stand before one they follow.
pub(super) fn out_of_order(entries: &[Entry]) -> Vec<usize> {
    let mut reached: BTreeMap<Chain, i64> = BTreeMap::new();
    let mut late = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let reached = reached.entry(entry.chain).or_insert(entry.seq);
        if entry.seq < *reached {
            late.push(index + 1);
        }
        *reached = entry.seq.max(*reached);
    }
    late
}
