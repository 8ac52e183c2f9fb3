//! Hypotheses, forecasts and belief on the built-in vehicle.
use std::sync::OnceLock;

use super::assert_near;
use crate::floor::certifier;
use hidden_ohm::bay::{Action, Bay, Bridge, Closed};
use hidden_ohm::circuit::NodeId;
use hidden_ohm::circuit::conductor::ConductorSize;
use hidden_ohm::evidence::{Account, Calibration, Cure, Depth, Hypothesis, Next, Pool, Reference};
use hidden_ohm::fault::Activation;
use hidden_ohm::instrument::{Extension, Function, Interval, Side};
use hidden_ohm::rig::Symptom;
use hidden_ohm::scenario::{Library, Scenario, TankTrouble, Told, Usage, symptoms_told, written};
use hidden_ohm::score::{debrief, scorecard};
use hidden_ohm::seed::{GENERATOR_VERSION, ScenarioCode, Stream};
use hidden_ohm::units::System;
use hidden_ohm::vehicle::{AccessHazard, AccessId, Key, Kind};

/// Scenarios generated to count what comes in.
const COUNTED: u64 = 60;

pub fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| Library::built_in().expect("the built-in files are right"))
}

/// Few draws, so that the tests are quick; belief is coarser for it.
pub fn pool() -> &'static Pool {
    static POOL: OnceLock<Pool> = OnceLock::new();
    POOL.get_or_init(fresh_pool)
}

/// The same, of which nothing has been asked yet.
fn fresh_pool() -> Pool {
    let vehicle = library()
        .vehicle("harbour-van")
        .expect("the van is built in");
    Pool::new(vehicle, &library().catalogue, 4).expect("every draw can be solved")
}

pub fn ground() -> Scenario {
    written(
        library(),
        "ground",
        include_str!("../../data/score/ground.toml"),
    )
    .unwrap_or_else(|wrong| panic!("{wrong:?}"))
}

/// Opens everything up, turns the pump on, reads `points` against the negative post, hands back.
fn measured(scenario: Scenario, points: &[&str]) -> Closed {
    measured_after(scenario, points, None)
}

/// The same, with the pump left running for some time before the first reading.
fn measured_after(scenario: Scenario, points: &[&str], wait_s: Option<f64>) -> Closed {
    let mut bay = Bay::open(scenario, System::Metric).expect("the vehicle can be solved");
    reads(&mut bay, points, wait_s);
    hands_back(bay)
}

/// Opens everything up, turns the pump on, reads `points` against the negative post, turns the key off.
pub fn reads(bay: &mut Bay, points: &[&str], wait_s: Option<f64>) {
    reads_on(bay, Function::Volts, points, wait_s);
}

/// The same on a function of the meter.
pub fn reads_on(bay: &mut Bay, function: Function, points: &[&str], wait_s: Option<f64>) {
    let vehicle = std::sync::Arc::clone(bay.vehicle());
    bay.act(&Action::Protect).expect("allowed");
    opens_up(bay);
    let longer = Extension {
        length_m: 6.0,
        size: ConductorSize::SquareMillimetres(1.0),
    };
    bay.act(&Action::Leads(Some((Side::Black, longer))))
        .expect("allowed");
    bay.act(&Action::Key(Key::On)).expect("allowed");
    bay.act(&Action::PumpTool(true)).expect("allowed");
    if let Some(seconds) = wait_s {
        bay.act(&Action::Wait { seconds }).expect("allowed");
    }
    for point in points {
        let red = vehicle.node(point).expect("a point of the van");
        bay.act(&Action::Meter {
            function,
            red,
            black: vehicle.reference,
        })
        .expect("allowed");
    }
    bay.act(&Action::Key(Key::Off)).expect("allowed");
}

/// Opens everything but the tank: with its module out the pump would run dry, and take less.
pub fn opens_up(bay: &mut Bay) {
    let vehicle = std::sync::Arc::clone(bay.vehicle());
    let shut = |index: &usize| vehicle.accesses[*index].hazard != AccessHazard::OpensTank;
    for index in (0..vehicle.accesses.len()).filter(shut) {
        let _ = bay.act(&Action::Access(AccessId(index)));
        let _ = bay.act(&Action::Stands);
    }
}

/// Hands the vehicle back; what was done without the handing back.
pub fn hands_back(mut bay: Bay) -> Closed {
    bay.act(&Action::Handover).expect("allowed");
    let mut closed = bay
        .hand_back()
        .unwrap_or_else(|_| panic!("the vehicle was given back"));
    closed.ledger.pop();
    closed
}

/// Whether a point is reached only with the tank open.
fn behind_the_tank(node: NodeId) -> bool {
    let vehicle = pool().vehicle();
    let touch = vehicle.nodes[node.0 as usize].touch.expect("a point");
    let order = vehicle.access_order(&vehicle.places[touch.place.0].needs);
    order
        .iter()
        .any(|id| vehicle.accesses[id.0].hazard == AccessHazard::OpensTank)
}

#[test]
fn the_customers_words_tell_what_was_noticed() {
    let told =
        "It groans when I turn the key and hardly goes round. I had to leave it at the quay.";
    let van = pool().vehicle();
    assert_eq!(symptoms_told(van, told), [Symptom::HardlyCranks]);
    assert_eq!(symptoms_told(van, "Please look at it."), []);
}

#[test]
fn a_customers_silence_and_misreading_tell_as_much_as_a_complaint() {
    let groans =
        "It groans when I turn the key and hardly goes round. I had to leave it at the quay.";
    let worst = [Symptom::HardlyCranks];
    let two = [Symptom::HardlyCranks, Symptom::LongCrank];
    let honest = Told::by(pool().vehicle(), groans);
    assert!(
        honest.likelihood(2, &worst) > 0.0 && honest.likelihood(2, &two) == 0.0,
        "an honest customer tells both"
    );
    let blames = format!("I read that it's nearly always the filter. {groans}");
    let unhelpful = Told::by(pool().vehicle(), &blames);
    assert!(
        unhelpful.likelihood(2, &worst) > 0.0 && unhelpful.likelihood(2, &two) > 0.0,
        "an unhelpful one tells the worst"
    );
    let misread = Told::by(
        pool().vehicle(),
        "There's a click from under the dashboard every time I turn the key. That can't be right.",
    );
    assert!(misread.likelihood(2, &[]) > 0.0 && misread.likelihood(2, &worst) == 0.0);
    let (hypotheses, belief, _) =
        pool().after_complaint(2, Usage::usual(pool().vehicle()), &misread);
    let nothing = hypotheses
        .iter()
        .position(|one| *one == Hypothesis::Nothing);
    let p = belief.probabilities()[nothing.expect("it is among them")];
    assert!(p > 0.9, "nothing is wrong with {p}");
}

#[test]
fn what_brings_it_on_points_at_what_comes_and_goes_and_saying_nothing_points_away() {
    let dies = "It starts, and then on the coast road it bucks and dies as if someone shut a tap.";
    let bumps = "It comes and goes. Worst of all over the cobbles by the slip.";
    let rain = "It's the rain that does it. On a dry day you'd never know.";
    // Of all belief, the share in what handling or bumps bring on.
    let shaken = |words: &str| {
        let told = Told::by(pool().vehicle(), words);
        let (hypotheses, belief, _) =
            pool().after_complaint(4, Usage::usual(pool().vehicle()), &told);
        let catalogue = pool().catalogue();
        let each = hypotheses.iter().zip(belief.probabilities());
        each.filter(|(one, _)| match one {
            Hypothesis::Fault { kind, .. } => {
                catalogue.kinds[kind.0].activation == Activation::Wiggle
            }
            _ => false,
        })
        .map(|(_, p)| p)
        .sum::<f64>()
    };
    let untold = shaken(dies);
    let told = shaken(&format!("{dies} {bumps}"));
    let otherwise = shaken(&format!("{dies} {rain}"));
    assert!(told > 0.8, "told: {told}, untold: {untold}");
    assert!(otherwise < 0.5 * untold, "{otherwise} of {untold}");
    assert!(
        untold < 0.5,
        "an honest customer would have said so: {untold}"
    );
}

#[test]
fn water_in_the_fuel_is_believed_in_once_a_glass_shows_it_and_cured_by_draining() {
    let scenario = (0..2000)
        .filter_map(|seed| {
            let code = ScenarioCode::new(GENERATOR_VERSION, 1, 2, seed).expect("a code");
            certifier().generate(code).ok()
        })
        .find(|scenario| scenario.clone().reveal().tank_trouble() == Some(TankTrouble::Water))
        .expect("one in some hundreds");
    let order = scenario.order().clone();
    let mut bay = Bay::open(scenario, System::Metric).expect("the vehicle can be solved");
    let vehicle = std::sync::Arc::clone(bay.vehicle());
    let line = vehicle
        .parts
        .iter()
        .find(|part| part.kind == Kind::Line)
        .expect("a fuel line");
    let mut does = |action: Action| bay.act(&action).expect("allowed");
    does(Action::Protect);
    does(Action::Relieve);
    let battery = vehicle.nodes[vehicle.reference.0 as usize]
        .touch
        .expect("a post");
    let places = [line.place, battery.place];
    let needs: Vec<AccessId> = places
        .iter()
        .flat_map(|place| vehicle.places[place.0].needs.clone())
        .collect();
    for access in vehicle.access_order(&needs) {
        does(Action::Access(access));
        if vehicle.accesses[access.0].hazard == AccessHazard::RaisesVehicle {
            does(Action::Stands);
        }
    }
    does(Action::Sample);
    does(Action::Isolate(true));
    does(Action::Fill { drained: true });
    does(Action::Isolate(false));
    does(Action::Drive);
    does(Action::Handover);
    let closed = bay
        .hand_back()
        .unwrap_or_else(|_| panic!("it was handed back"));
    assert_eq!(closed.truth.matters(), 1);
    assert_eq!(closed.truth.matters_left(), 0);
    let mut account = Account::begin(pool(), 2, &order);
    let right = account.rights(&closed.truth)[0];
    assert_eq!(account.repairs().all()[right].what, Cure::Drain);
    let sampled = closed
        .ledger
        .iter()
        .position(|entry| entry.action == Action::Sample);
    for entry in &closed.ledger[..=sampled.expect("a sample")] {
        account.observe(entry);
    }
    let p = account.repair_probabilities()[right];
    assert!(p > 0.5, "draining is right with {p}");
    let card = scorecard(&closed, System::Metric).expect("marked");
    let outcome = &card.parts[0].marks;
    assert!(outcome[1].points.0 > 0, "{outcome:?}");
    let told = debrief(&closed, System::Metric).expect("told");
    assert_eq!(told.hidden[0].title, "water in the fuel");
    assert!(!told.hidden[0].left);
}

#[test]
fn volts_on_either_side_of_a_bad_ground_make_its_repair_the_likeliest() {
    let closed = measured(ground(), &["G4", "BODYR", "X7.2", "SP3.b"]);
    let account = Account::of(pool(), &closed).expect("the attempt can be followed");
    let right = account
        .right_for(&closed.truth.came_with[0])
        .expect("the ground is among the hypotheses");
    let p = account.repair_probabilities();
    let best = (0..p.len()).reduce(|best, next| if p[next] > p[best] { next } else { best });
    assert_eq!(
        best,
        Some(right),
        "{:?}",
        account.repairs().all()[best.unwrap_or(0)]
    );
    // Nothing proved the tip on painted metal beside it, so that the battery's clamp stays in doubt.
    assert!(p[right] > 0.4, "{}", p[right]);
    assert_near(p.iter().sum(), 1.0, 1e-9, "all repairs together");
}

#[test]
fn realised_bits_of_an_attempt_add_up() {
    let closed = measured(ground(), &["G4", "BODYR", "X7.2"]);
    let begun = Account::begin(pool(), closed.level, &closed.order);
    let account = Account::of(pool(), &closed).expect("the attempt can be followed");
    let right = account
        .right_for(&closed.truth.came_with[0])
        .expect("the ground is among the hypotheses");
    let prior = begun.repair_probabilities()[right];
    let bits: f64 = account.realised(prior, right).iter().sum();
    assert_near(
        bits,
        (account.repair_probabilities()[right] / prior).log2(),
        1e-9,
        "telescoped",
    );
    assert_eq!(account.steps().len(), closed.ledger.len());
}

#[test]
fn the_same_reading_again_is_no_new_evidence() {
    // Once all is warm: before that a reading that has moved tells how a joint warms, and that is news.
    let warm = Some(1800.0);
    let once = measured_after(ground(), &["X7.2"], warm);
    let often = measured_after(ground(), &["X7.2", "X7.2", "X7.2", "X7.2"], warm);
    let [once, often] = [once, often].map(|closed| {
        let account = Account::of(pool(), &closed).expect("the attempt can be followed");
        account.repair_probabilities()
    });
    for (a, b) in once.iter().zip(&often) {
        assert_near(*a, *b, 1e-3, "belief after one reading and after four");
    }
}

#[test]
fn what_was_asked_for_other_attempts_changes_no_belief() {
    let points = ["X7.2", "X1.1", "X2.1"];
    let job = |seed| {
        let code = ScenarioCode::new(GENERATOR_VERSION, 1, 2, seed).expect("a code");
        certifier().generate(code).expect("a scenario")
    };
    let believed = |pool: &Pool, closed: &Closed| {
        let account = Account::of(pool, closed).expect("the attempt can be followed");
        account.repair_probabilities()
    };
    let mine = measured(ground(), &points);
    let alone = believed(&fresh_pool(), &mine);
    let asked = fresh_pool();
    for seed in 700..704 {
        let others = measured(job(seed), &points);
        let _ = believed(&asked, &others);
    }
    assert_eq!(alone, believed(&asked, &mine));
}

#[test]
fn a_pool_is_the_same_in_every_run_and_holds_the_frequencies_of_certified_jobs() {
    let usage = Usage::usual(pool().vehicle());
    let (hypotheses, belief, draws) = pool().after_complaint(3, usage, &Told::default());
    assert_eq!(belief.len(), hypotheses.len());
    assert_eq!(belief.hypothesis_of().len(), draws.len());
    let again = pool()
        .after_complaint(3, usage, &Told::default())
        .1
        .probabilities();
    assert_eq!(belief.probabilities(), again);
    // Counted over generated scenarios: the share of each kind of fault, within three standard errors of its count.
    let catalogue = &library().catalogue;
    let mut counted = vec![0.0; catalogue.kinds.len()];
    for seed in 0..COUNTED {
        let code = ScenarioCode::new(GENERATOR_VERSION, 1, 3, seed).expect("a code");
        let scenario = certifier().generate(code).expect("a scenario");
        if let Some(fault) = scenario.reveal().faults.first() {
            counted[fault.kind.0] += 1.0;
        }
    }
    let mut believed = vec![0.0; catalogue.kinds.len()];
    for (hypothesis, p) in hypotheses.iter().zip(belief.probabilities()) {
        if let Hypothesis::Fault { kind, .. } = hypothesis {
            believed[kind.0] += p;
        }
    }
    for (kind, (found, p)) in counted.iter().zip(&believed).enumerate() {
        let expected = p * COUNTED as f64;
        // What was counted has an error of its own, and what hardly ever comes in is believed in a little.
        let error = (expected * (1.0 - p)).sqrt() + 0.1 * expected + 1.0;
        assert!(
            (found - expected).abs() <= 3.0 * error,
            "{}: {found} and {expected}",
            catalogue.kinds[kind].id
        );
    }
}

#[test]
fn stated_probabilities_of_repairs_come_true_as_often_as_stated() {
    let points = pool().vehicle().plugged_points();
    let mut calibration = Calibration::default();
    for seed in 500..520 {
        let code = ScenarioCode::new(GENERATOR_VERSION, 1, 2, seed).expect("a code");
        let mut stream = Stream::named(seed, "learner");
        let names: Vec<&str> = (0..3)
            .filter_map(|_| stream.pick(&points))
            .filter(|node| !behind_the_tank(**node))
            .map(|node| pool().vehicle().nodes[node.0 as usize].name.as_str())
            .filter(|name| *name != "B-")
            .collect();
        let closed = measured(certifier().generate(code).expect("a scenario"), &names);
        let account = Account::of(pool(), &closed).expect("the attempt can be followed");
        // What is in the tank is no fault of the vehicle, and nothing here weighs it.
        let Some(fault) = closed.truth.came_with.first() else {
            continue;
        };
        let right = account.right_for(fault);
        for (repair, p) in account.repair_probabilities().into_iter().enumerate() {
            calibration.add(p, Some(repair) == right);
        }
    }
    let error = calibration.expected_error(10);
    assert!(error < 0.02, "{error}: {:?}", calibration.table(10));
}

#[test]
fn the_reference_plans_on_the_live_belief_and_costs_no_more_than_greedy() {
    let closed = measured(ground(), &[]);
    let mut account = Account::begin(pool(), closed.level, &closed.order);
    let reference = Reference::new(&mut account).expect("a sound problem");
    assert!(reference.dropped() < 0.2, "{}", reference.dropped());
    let greedy = reference.advice(Depth::Greedy, u64::MAX);
    let rollout = reference.advice(Depth::Rollout, 20_000);
    assert!(rollout.minutes <= greedy.minutes + 1e-9);
    assert!(
        matches!(rollout.next, Next::Probe(_)),
        "nobody repairs on the customer's word alone"
    );
    let again = reference
        .minutes_after(rollout.next, Depth::Rollout, 20_000)
        .expect("a test it considered");
    assert_near(again, rollout.minutes, 1e-9, "its own choice has no regret");
    // The first repair that it did not leave out as too unlikely.
    let some = (1..account.repairs().all().len())
        .find(|&repair| {
            let next = Next::Repair(repair);
            reference
                .minutes_after(next, Depth::Rollout, 20_000)
                .is_some()
        })
        .expect("some repair is believed in");
    let blind = reference
        .minutes_after(Next::Repair(some), Depth::Rollout, 20_000)
        .expect("a repair");
    assert!(
        blind > rollout.minutes,
        "a repair on hope costs more: {blind} and {}",
        rollout.minutes
    );
}

#[test]
fn the_reference_repairs_once_the_evidence_is_in() {
    let closed = measured(ground(), &["G4", "BODYR", "X7.2", "SP3.b"]);
    let mut account = Account::of(pool(), &closed).expect("the attempt can be followed");
    let right = account
        .right_for(&closed.truth.came_with[0])
        .expect("the ground is among the hypotheses");
    let reference = Reference::new(&mut account).expect("a sound problem");
    let blind = reference
        .minutes_after(Next::Repair(0), Depth::Rollout, 20_000)
        .expect("a repair");
    let repair = reference
        .minutes_after(Next::Repair(right), Depth::Rollout, 20_000)
        .expect("a repair");
    assert!(
        repair < blind,
        "the right repair costs less than none: {repair} and {blind}"
    );
}

#[test]
fn a_catch_from_the_feed_counts_where_nothing_comes_back() {
    let library = library();
    let bus = library.vehicle("mobile-library").expect("built in");
    let pool = Pool::new(bus, &library.catalogue, 2).expect("every draw can be solved");
    let text = "format = 1\nvehicle = \"mobile-library\"\nlevel = 3\nseed = 11\ncustomer = \"It fades on the hill.\"\n\
                known = []\nwithheld = []\n[conditions]\nambient = \"20 C\"\ncharge = \"100 %\"\nfuel = \"50 %\"\n\
                [[fault]]\nkind = \"restricted-filter\"\npart = \"FILTER\"\nseverity = 30\n";
    let access = |id| Action::Access(bus.access(id).expect("a way in"));
    let node = |name| bus.node(name).expect("a point");
    let wire = |length_m, mm2| Extension {
        length_m,
        size: ConductorSize::SquareMillimetres(mm2),
    };
    let by_tool = Action::Flow {
        seconds: 30.0,
        bridge: None,
    };
    let by_jumper = Action::Flow {
        seconds: 30.0,
        bridge: Some(Bridge {
            a: node("K3.30"),
            b: node("K3.87"),
            wire: wire(1.0, 1.5),
        }),
    };
    // However the pump is run, and whoever looks on: what is read meanwhile is read on a pump that runs.
    let ways = [
        vec![Action::Key(Key::On), Action::Relieve, by_tool.clone()],
        vec![
            access("panel"),
            Action::Relieve,
            Action::Unplug(bus.part("K3").expect("a relay")),
            by_jumper,
            Action::Plug(bus.part("K3").expect("a relay")),
        ],
        vec![
            access("skirt"),
            Action::Leads(Some((Side::Black, wire(8.0, 1.0)))),
            Action::Meter {
                function: Function::Volts,
                red: node("X14.1"),
                black: node("X14.2"),
            },
            Action::Key(Key::On),
            Action::Relieve,
            Action::Record(Some(Interval::Tenth)),
            by_tool,
        ],
    ];
    for work in ways {
        let job = written(library, "job", text).unwrap_or_else(|wrong| panic!("{wrong:?}"));
        let mut bay = Bay::open(job, System::Metric).expect("solvable");
        let opened = [Action::Protect, access("bonnet")];
        for action in opened.iter().chain(&work).chain(&[Action::Handover]) {
            bay.act(action)
                .unwrap_or_else(|refusal| panic!("{action:?}: {} {}", refusal.error, refusal.hint));
        }
        let Ok(mut closed) = bay.hand_back() else {
            panic!("the vehicle was given back")
        };
        closed.ledger.pop();
        let account = Account::of(&pool, &closed).expect("the attempt can be followed");
        let right = account.rights(&closed.truth)[0];
        let begun = Account::begin(&pool, closed.level, &closed.order);
        let before = begun.repair_probabilities()[right];
        let after = account.repair_probabilities()[right];
        // Little comes: a packed filter is likelier than it was, and by far.
        assert!(
            after > 3.0 * before,
            "{before} before, {after} after {work:?}"
        );
        let last = account.steps().last().expect("a step");
        assert_eq!(last.number as usize, opened.len() + work.len());
    }
}
