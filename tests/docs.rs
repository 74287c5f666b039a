//! Every command that README and docs show is run, and prints what they say it prints.

#[test]
fn the_examples_of_the_docs_are_true() {
    trycmd::TestCases::new().case("README.md").case("docs/*.md");
}
