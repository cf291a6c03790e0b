//! The JSON Schema of the plan document, generated from the types and kept beside the example plans.

use crate::examples::on_record;

#[test]
fn the_committed_schema_is_that_of_the_types() {
    let schema = schemars::schema_for!(engine::plan::Plan);
    on_record("evenrise.schema.json", &(serde_json::to_string_pretty(&schema).unwrap() + "\n"));
}
