use super::van::*;
use hidden_ohm::pump::*;
#[test]
fn explore() {
    let (u, h) = (van(), fuel_circuit());
    println!("{u:?}");
    let p = operating_point(&u, &h, &key_on(), &Demand::none()).unwrap();
    println!("{p:?} {} L/h {} rpm", p.delivered_m3_s / LPH, p.rad_s / RPM);
    let (s, d) = idle();
    let p = operating_point(&u, &h, &s, &d).unwrap();
    println!(
        "idle {p:?} {} L/h {} rpm",
        p.delivered_m3_s / LPH,
        p.rad_s / RPM
    );
    let t = prime(
        &u,
        &h,
        &key_on(),
        &Demand::none(),
        Rest { rail_pa: 0.0 },
        2.0,
        0.05,
    )
    .unwrap();
    println!(
        "{} {} {} peak {:?}",
        t.steps, t.rejected, t.evaluations, t.peak
    );
    for s in &t.samples {
        println!(
            "{:.3} {:.3} A {:.1} rpm {:.2} kPa {:.2} {:.2} L/h",
            s.t_s,
            s.amps,
            s.rad_s / RPM,
            s.rail_pa / KPA,
            s.outlet_pa / KPA,
            s.delivered_m3_s / LPH
        );
    }
}
