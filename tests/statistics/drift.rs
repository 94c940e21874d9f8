//! Run lengths of the cumulative sums, counted by simulation through the very sums that the answer uses.

use keenspan::decisions::{Cusum, Scheme, ScoreSpan};
use keenspan::wear::seeded;
use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

fn scheme(decision: f64) -> Scheme {
    Scheme::new(0.5, decision).expect("a scheme")
}

/// Edges until the first sign, on average over `times` series of scores around `shift`, each seen as `seen` has
/// it.
fn run_length(scheme: Scheme, shift: f64, times: u32, seen: impl Fn(f64) -> ScoreSpan) -> f64 {
    let mut random = seeded(20_260_501);
    let total: u64 = (0..times)
        .map(|_| until_sign(scheme, shift, &mut random, &seen))
        .sum();
    total as f64 / f64::from(times)
}

fn until_sign(
    scheme: Scheme,
    shift: f64,
    random: &mut impl Rng,
    seen: &impl Fn(f64) -> ScoreSpan,
) -> u64 {
    let mut cusum = Cusum::new(scheme);
    for edges in 1.. {
        let score: f64 = StandardNormal.sample(random);
        let sums = cusum.push(seen(score + shift));
        if sums.longer > scheme.decision() || sums.shorter > scheme.decision() {
            let signalled = cusum.runs().first().map(|run| run.signalled as u64);
            assert_eq!(signalled, Some(edges - 1));
            return edges;
        }
    }
    unreachable!("edges never end")
}

/// Montgomery, Introduction to Statistical Quality Control: the table of average run lengths of the tabular
/// cumulative sum, two-sided, `k = 1/2`, `h = 4` or `5`. Run lengths scatter about as much as they are long, so
/// that 12,000 of them err by 0.9 %.
#[test]
fn run_lengths_are_those_of_the_printed_table() {
    let printed = [
        (4.0, 0.0, 168.0),
        (4.0, 1.0, 8.38),
        (5.0, 0.0, 465.0),
        (5.0, 1.0, 10.4),
        (5.0, -1.0, 10.4),
        (5.0, -2.0, 4.01),
    ];
    for (decision, shift, wanted) in printed {
        let found = run_length(scheme(decision), shift, 12_000, ScoreSpan::at);
        assert!(
            (found / wanted - 1.0).abs() < 0.03,
            "{decision} {shift}: {found}"
        );
        let computed = scheme(decision).run_length(shift);
        assert!(
            (computed / wanted - 1.0).abs() < 0.005,
            "{decision} {shift}: {computed}"
        );
    }
}

/// What a grade leaves of a score: which of four spans it lies in.
fn graded(score: f64) -> ScoreSpan {
    let cuts = [f64::NEG_INFINITY, -1.0, 0.0, 1.0, f64::INFINITY];
    let place = cuts[1..4].iter().filter(|cut| score > **cut).count();
    ScoreSpan {
        low: cuts[place],
        high: cuts[place + 1],
    }
}

/// What a pull on schedule leaves of a score when nobody looks: whether it lasted to its schedule.
fn pulled(score: f64) -> ScoreSpan {
    if score < 0.0 {
        ScoreSpan::at(score)
    } else {
        ScoreSpan {
            low: 0.0,
            high: f64::INFINITY,
        }
    }
}

/// Edges that are seen less well give a false sign hardly sooner than the printed table has it for those that are
/// seen well: 5 % sooner where the upper sum can only creep up on its limit, else later (counts err by 1.3 %).
/// Shifts are still found, within half as long again.
#[test]
fn edges_seen_less_well_give_hardly_more_false_signs_and_still_find_shifts() {
    for decision in [4.0, 5.0] {
        let scheme = scheme(decision);
        for seen in [graded, pulled] {
            let found = run_length(scheme, 0.0, 6000, seen) / scheme.run_length(0.0);
            assert!(found > 0.92, "{decision}: {found}");
            let shorter = run_length(scheme, -1.0, 6000, seen) / scheme.run_length(1.0);
            assert!(shorter < 1.5, "{decision}: {shorter}");
            println!(
                "{decision}: false sign {found:.2}, shorter by one {shorter:.2} times the table's"
            );
        }
    }
}
