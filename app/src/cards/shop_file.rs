//! The shop record by itself: saved to a file, and taken from one or from another plan.

use super::ViewProps;
use crate::command::Command;
use crate::edit::Edit;
use crate::platform::files;
use crate::session::Notice;
use engine::plan::{Plan, check, file};
use gloo::file::File;
use gloo::file::callbacks::FileReader;
use web_sys::HtmlInputElement;
use yew::prelude::*;

/// Saves the shop record and takes another.
#[component]
pub fn ShopFile(props: &ViewProps) -> Html {
    let ViewProps { session, dispatch } = props;
    let reader = use_mut_ref(|| None::<FileReader>);
    let pick = {
        let (session, dispatch) = (session.clone(), dispatch.clone());
        Callback::from(move |event: Event| {
            let Some(input) = event.target_dyn_into::<HtmlInputElement>() else { return };
            if let Some(picked) = input.files().and_then(|files| files.get(0)) {
                let (plan, dispatch) = (session.plan.clone(), dispatch.clone());
                let done = move |name: String, text: Result<&str, String>| {
                    let notice = match text.and_then(|text| taken(&plan, text)) {
                        Ok((edit, left_out)) => {
                            dispatch.emit(edit.into());
                            Notice::news(format!(
                                "Shop record of {name} taken.{left_out} Undo brings yours back."
                            ))
                        }
                        Err(reason) => Notice::alert(format!(
                            "No shop record taken from {name}: {reason}. Yours is as it was."
                        )),
                    };
                    dispatch.emit(Command::Tell(notice));
                };
                *reader.borrow_mut() = files::read(&File::from(picked), Box::new(done));
            }
            // So that the same file can be picked again.
            input.set_value("");
        })
    };
    let save = {
        let (session, dispatch) = (session.clone(), dispatch.clone());
        Callback::from(move |_: MouseEvent| {
            let saved = files::save_as("shop-record.json".to_owned(), &file::write_shop(&session.plan.shop));
            dispatch.emit(Command::Tell(match saved {
                Ok(name) => Notice::news(format!("Shop record saved to {name}.")),
                Err(reason) => Notice::alert(format!("Shop record not saved: {reason}.")),
            }));
        })
    };
    html! {
        <p class="buttons">
            <button type="button" data-testid="shop-save" onclick={save}>{ "Save shop record" }</button>
            <label class="button" title="From a shop record's file, or from another plan's">{ "Take one from a file" }
                <input type="file" class="unseen" accept=".json,application/json" data-testid="shop-open"
                    aria-label="Take the shop record of a file" onchange={pick} />
            </label>
        </p>
    }
}

/// The edit that brings the shop record in `text` into `plan`, and what of it was left out.
fn taken(plan: &Plan, text: &str) -> Result<(Edit, String), String> {
    let mut shop = file::read_shop(text).map_err(|error| error.to_string())?;
    let all = shop.speed_limits.len();
    shop.speed_limits
        .retain(|limit| limit.zone.as_ref().is_none_or(|id| plan.zones.iter().any(|zone| zone.id == *id)));
    let left_out = match all - shop.speed_limits.len() {
        0 => String::new(),
        n => format!(" Left out: {n} of its {all} speed limits, for zones this plan has not."),
    };
    let with = Plan { shop: shop.clone(), ..plan.clone() };
    check::shop(&with).map_err(|error| error.to_string())?;
    Ok((Edit::Shop(Box::new(shop)), left_out))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::Session;
    use crate::starter;
    use engine::plan::{ShopRecord, SpeedLimit};

    fn limit(zone: &str) -> SpeedLimit {
        SpeedLimit { max_discharge_m_s: 9.0, zone: Some(zone.to_owned()), conveyor_m: None }
    }

    #[test]
    fn the_record_of_another_plan_or_of_a_file_of_its_own_is_taken_in_one_step() {
        let plan = starter::demo();
        let zone = plan.zones[0].id.clone();
        let mut other = starter::empty();
        other.shop.max_patterns = Some(4);
        other.shop.speed_limits = vec![limit(&zone), limit("elsewhere")];
        for text in [file::write(&other), file::write_shop(&other.shop)] {
            let (edit, left_out) = taken(&plan, &text).expect("it is a shop record");
            assert!(left_out.contains("1 of its 2 speed limits"), "{left_out}");
            let mut session = Session::new(plan.clone());
            session.apply(edit.into());
            let wanted = ShopRecord { speed_limits: vec![limit(&zone)], ..other.shop.clone() };
            assert_eq!(session.plan.shop, wanted);
            assert_eq!(session.history.undo_label(), Some("Take shop record"));
            session.apply(Command::Undo);
            assert_eq!(*session.plan, plan);
        }
    }

    #[test]
    fn what_is_no_shop_record_or_a_wrong_one_is_refused_with_place_and_remedy() {
        let plan = starter::demo();
        let wrong = ShopRecord { min_width_m: 0.02, max_width_m: 0.01, ..ShopRecord::default() };
        for (text, words) in [
            (file::write_shop(&wrong), ["shop", "max_width_m"]),
            ("{ \"format\": \"another\" }".to_owned(), ["neither a shop record nor", "evenrise-shop-record"]),
            ("{".to_owned(), ["the file", "complete JSON"]),
            (
                "{ \"format\": \"evenrise-shop-record\", \"shop\": { \"max_patterns\": \"few\" } }"
                    .to_owned(),
                ["shop.max_patterns", "correct the value"],
            ),
        ] {
            let refused = taken(&plan, &text).expect_err(&text);
            assert!(words.iter().all(|word| refused.contains(word)), "{refused}");
        }
    }
}
