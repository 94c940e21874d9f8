//! Run lengths of the cumulative sums, counted by simulation through the very sums that the answer uses.

use keenspan::decisions::{Cusum, Factor, FinishedEdge, Scheme, ScoreSpan, drift};
use keenspan::quantities::Level;
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

/// Two machines by turns, every score that of an edge that lasted as foretold, but for those of one machine from
/// one place on.
fn two_machines(edges: usize, falls: [(usize, f64); 2]) -> Vec<FinishedEdge> {
    let mut random = seeded(11);
    let edge = |place: usize| {
        let (from, shift) = falls[place % 2];
        let own: f64 = StandardNormal.sample(&mut random);
        let score = 0.5 * own + if place >= from { shift } else { 0.0 };
        FinishedEdge {
            ahead: ScoreSpan::at(score),
            together: ScoreSpan::at(score),
            log_life_per_score: 0.3,
            rough: false,
            levels: vec![(Factor::Machine, ["alpha", "beta"][place % 2].to_string())],
        }
    };
    (0..edges).map(edge).collect()
}

/// A machine whose edges fall short while another's do already is a trouble of its own.
#[test]
fn a_second_machine_is_found_while_the_first_goes_on() {
    let edges = two_machines(120, [(60, -1.3), (90, -1.3)]);
    let answer = drift(&edges, &[], Scheme::USUAL, Level::NINETY).expect("an answer");
    let of = |name: &str| {
        let mut shifts = answer.shifts.iter();
        shifts.find(|shift| shift.group.as_ref().is_some_and(|it| it.level == name))
    };
    let (alpha, beta) = (of("alpha").expect("alpha"), of("beta").expect("beta"));
    assert!(alpha.last.is_none() && beta.last.is_none());
    assert!((52..=66).contains(&alpha.first.point), "{alpha:?}");
    assert!((82..=97).contains(&beta.first.point), "{beta:?}");
    // 1.3 scores of 0.3 in the log of life each.
    for shift in [alpha, beta] {
        let ratio = shift.ratio;
        assert!(ratio.lower < 0.68 && 0.68 < ratio.upper, "{ratio:?}");
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
