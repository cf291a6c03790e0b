//! The JSON Schema of the plan document, generated from the types and kept beside the example plans.

#[test]
fn the_committed_schema_is_that_of_the_types() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/plans/evenrise.schema.json");
    let schema = schemars::schema_for!(engine::plan::Plan);
    let text = serde_json::to_string_pretty(&schema).unwrap() + "\n";
    if std::env::var_os("EVENRISE_BLESS").is_some() {
        std::fs::write(&path, &text).unwrap();
    }
    assert_eq!(
        text,
        std::fs::read_to_string(&path).unwrap_or_default(),
        "bless with cargo verify --bless when intended"
    );
}
