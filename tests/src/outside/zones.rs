//! Zones at given air flows: the enthalpy balance alone, with parts of a given effectiveness.

use super::Row;
use super::row::folder;
use engine::heat::balance::{Control, Drawn, Thermal, balance};
use engine::heat::bays::Bays;
use engine::heat::frame::{Frame, Link, Place};
use engine::heat::losses::Shell;
use engine::heat::moisture::Moist;
use engine::laws::damper::installed_fraction;
use engine::network::from_plan;
use engine::plan::{Plan, file};

/// Two zones without walls to speak of; what they lose is entered.
fn plan(row: &Row) -> Plan {
    let path = folder().join("cases/two_zones.evenrise.json");
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{error}"));
    let mut plan = file::read(&text).unwrap_or_else(|error| panic!("{error}"));
    plan.site.ambient_c = row.number("plant_c");
    plan.zones[0].other_loss_w_k = row.optional("loss1_w_k").unwrap_or(0.0);
    plan.zones[1].other_loss_w_k = row.number("loss2_w_k");
    plan
}

/// What balances at a flow to each zone, kg/s, and at temperatures of zones the parts have met.
struct Zones<'a> {
    row: &'a Row,
    frame: Frame,
    humidity_ratio: f64,
}

impl Zones<'_> {
    /// Floor of a bay over that of its zone.
    fn share(&self, bay: usize) -> f64 {
        let bays = &self.frame.bays.bays;
        let of_zone = bays.iter().filter(|other| other.zone == bays[bay].zone);
        bays[bay].floor_m2 / of_zone.map(|other| other.floor_m2).sum::<f64>()
    }

    fn mean_c(&self, zone: usize, bays_c: &[f64]) -> f64 {
        let of_zone = |i: usize| self.frame.bays.bays[i].zone == zone;
        (0..bays_c.len()).filter(|&i| of_zone(i)).map(|i| self.share(i) * bays_c[i]).sum()
    }

    /// Metal between the zones.
    fn between_c(&self, second_c: f64) -> f64 {
        let entry = self.row.number("entry_c");
        entry + self.row.number("effect2") * (second_c - entry)
    }

    fn drawn(&self, bays_c: &[f64]) -> Drawn {
        let row = self.row;
        let (store, entry) = (row.number("store_w_k"), row.number("entry_c"));
        let effect1 = row.optional("effect1").unwrap_or(0.0);
        let between = self.between_c(self.mean_c(1, bays_c));
        let of_zone = [effect1 * store * (self.mean_c(0, bays_c) - between), store * (between - entry)];
        let water = [0.0, row.number("water_w")];
        let follows = [effect1 * store, row.number("effect2") * store];
        let zone = |i: usize| self.frame.bays.bays[i].zone;
        let shared =
            |of: [f64; 2]| (0..bays_c.len()).map(|i| self.share(i) * of[zone(i)]).collect::<Vec<_>>();
        Drawn {
            parts_w: shared(of_zone),
            carried_w: vec![0.0; bays_c.len()],
            water_w: shared(water),
            water_kg_s: vec![0.0; bays_c.len()],
            conductance_w_k: shared(follows),
        }
    }

    fn balanced(&self, flows_kg_s: [f64; 2], control: &Control) -> Thermal {
        let exhaust = self.row.optional("exhaust_kg_s").unwrap_or(0.0);
        let exhausted = exhaust / (flows_kg_s[0] + flows_kg_s[1]);
        let heater = Place::Node(self.frame.intake);
        let humidity_ratio = self.humidity_ratio;
        let link = |from, to, kg_s| Link {
            from,
            to,
            kg_s,
            keep: 1.0,
            around: Place::Outside,
            branch: None,
            humidity_ratio,
        };
        let mut links = vec![link(Place::Outside, heater, exhaust)];
        for i in 0..self.frame.bays.bays.len() {
            let flow = self.share(i) * flows_kg_s[self.frame.bays.bays[i].zone];
            links.push(link(heater, Place::Bay(i), flow));
            links.push(link(Place::Bay(i), heater, (1.0 - exhausted) * flow));
            links.push(link(Place::Bay(i), Place::Outside, exhausted * flow));
        }
        links.retain(|link| link.kg_s > 0.0);
        let start = vec![120.0; self.frame.bays.bays.len()];
        let moist = Moist::uniform(&self.frame, humidity_ratio);
        let drawn = &mut |bays_c: &[f64]| self.drawn(bays_c);
        let found = balance(&self.frame, &links, &moist, control, (&start, 215.0), drawn);
        found.unwrap_or_else(|| panic!("{}: nothing balances", self.row.text("id")))
    }

    /// The second zone where the supply has a temperature, °C.
    fn second_c(&self, flow_kg_s: f64) -> f64 {
        let found = self.balanced([1.0, flow_kg_s], &Control::Supply(self.row.number("supply_c")));
        self.mean_c(1, &found.bays_c)
    }
}

pub fn two_zones(row: &Row) -> f64 {
    let plan = plan(row);
    let built = from_plan::build(&plan).unwrap_or_else(|error| panic!("{error}"));
    let bays = Bays::of(&plan);
    let none = Shell { wall_w_m2k: 0.0, roof_w_m2k: 0.0, floor_w_m2k: 0.0 };
    let exchange = vec![0.0; bays.faces.len()];
    let frame = Frame::new(&plan, &built, bays, &[none; 2], exchange, 0.0);
    let zones = Zones { row, frame, humidity_ratio: plan.site.oven_humidity_ratio };
    match row.text("quantity") {
        "second_alone" => zones.second_c(row.number("m2_kg_s")),
        "travel" => {
            let through = installed_fraction(row.number("open_share"), row.number("authority"));
            zones.second_c(through * row.number("m2_kg_s"))
        }
        "flow_for" => {
            let (mut low, mut high) = (0.1, 20.0);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if zones.second_c(middle) < row.number("set_c") { low = middle } else { high = middle }
            }
            low
        }
        quantity => {
            let bays = zones.frame.bays.bays.len();
            let weight = |i: usize| if zones.frame.bays.bays[i].zone == 0 { zones.share(i) } else { 0.0 };
            let weights = (0..bays).map(weight).collect();
            let control = Control::Holds { weights, set_c: row.number("set_c") };
            let found = zones.balanced([row.number("m1_kg_s"), row.number("m2_kg_s")], &control);
            let second = zones.mean_c(1, &found.bays_c);
            match quantity {
                "supply" => found.supply_c,
                "second" => second,
                "part" => zones.between_c(second),
                "burner" => 1e-3 * found.heater_w,
                _ => row.unknown("quantity"),
            }
        }
    }
}
