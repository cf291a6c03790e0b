//! The fan chart on the page, with its numbers as a table.

use super::fan::{self, FanData};
use super::picture::picture;
use super::plot::{Drawing, Plot};
use crate::session::Session;
use engine::analysis::FanPointFound;
use engine::units::{Kind, show};
use std::rc::Rc;
use yew::prelude::*;

/// What the view shows.
#[derive(Clone, Debug, PartialEq, Properties)]
pub struct FanViewProps {
    /// Everything the page knows.
    pub session: Rc<Session>,
}

/// The fan chart and its table.
pub struct FanView {
    data: Option<Rc<FanData>>,
    drawing: Drawing,
}

impl FanView {
    fn refresh(&mut self, session: &Session) {
        let data = session.analysis.as_ref().map(|analysis| FanData {
            chart: analysis.fan_chart.clone(),
            stall_margin_percent: analysis.fan.stall_margin_percent,
            before: session
                .before
                .as_ref()
                .and_then(|before| before.analysis.fan_chart.points.first().copied()),
            units: session.view.units,
        });
        if data.as_ref() != self.data.as_deref() {
            self.data = data.map(Rc::new);
            self.drawing = drawing(self.data.clone());
        }
    }
}

impl Component for FanView {
    type Message = ();
    type Properties = FanViewProps;

    fn create(ctx: &Context<Self>) -> Self {
        let mut view = Self { data: None, drawing: drawing(None) };
        view.refresh(&ctx.props().session);
        view
    }

    fn changed(&mut self, ctx: &Context<Self>, _: &Self::Properties) -> bool {
        self.refresh(&ctx.props().session);
        true
    }

    fn view(&self, ctx: &Context<Self>) -> Html {
        let session = &ctx.props().session;
        let plot = html! {
            <Plot
                drawing={self.drawing.clone()}
                theme={session.view.theme}
                testid="fan-chart"
                class={classes!("fan-canvas")}
                label="Fan and system curves, hot and cold, with the operating points. The numbers are in the table below."
            />
        };
        picture("Fan chart", plot, "Operating points in numbers", self.table(session))
    }
}

/// A drawing of `data`; blank without any.
fn drawing(data: Option<Rc<FanData>>) -> Drawing {
    data.map_or_else(Drawing::blank, |data| Drawing::new(data, fan::scales, fan::draw))
}

impl FanView {
    fn table(&self, session: &Session) -> Html {
        let (Some(data), Some(analysis)) = (&self.data, &session.analysis) else {
            return html! { <p>{ "Not calculated yet." }</p> };
        };
        let units = data.units;
        let found: &FanPointFound = &analysis.fan;
        let point = |i: usize, part: fn(&(f64, f64)) -> f64, kind: Kind| {
            data.chart.points.get(i).map_or("\u{2013}".to_owned(), |p| show(part(p), kind, units))
        };
        let hot_cold = |name: &str, hot: String, cold: String| {
            html! { <tr key={name}><th scope="row">{ name }</th><td>{ hot }</td><td>{ cold }</td></tr> }
        };
        let only_hot = |name: &str, hot: String| hot_cold(name, hot, "\u{2013}".to_owned());
        html! {
            <table>
                <caption>{ "The fan where it meets the system" }</caption>
                <thead><tr><th scope="col">{ "Quantity" }</th><th scope="col">{ "Hot" }</th><th scope="col">{ "Cold start" }</th></tr></thead>
                <tbody>
                    { hot_cold("Flow at the inlet", point(0, |p| p.0, Kind::VolumeFlow), point(1, |p| p.0, Kind::VolumeFlow)) }
                    { hot_cold("Total pressure", point(0, |p| p.1, Kind::Pressure), point(1, |p| p.1, Kind::Pressure)) }
                    { only_hot("Static pressure", show(found.static_pressure_pa, Kind::Pressure, units)) }
                    { hot_cold("Shaft power", show(found.shaft_power_w, Kind::ShaftPower, units), show(found.cold_shaft_power_w, Kind::ShaftPower, units)) }
                    { only_hot("Density at the inlet", show(found.density_kg_m3, Kind::Density, units)) }
                    { only_hot("Flow at the pressure peak", show(data.chart.peak_flow_m3_s, Kind::VolumeFlow, units)) }
                    { only_hot("Margin to the peak", show(found.stall_margin_percent, Kind::Percent, units)) }
                </tbody>
            </table>
        }
    }
}
