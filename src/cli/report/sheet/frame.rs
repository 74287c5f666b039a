//! The frame of every page: one file that fetches nothing and runs nothing.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::css::{COLOURS, DIFFERENCES, PAGE, RULES};
use super::print::PRINT;
use super::words::{safe, with_typed_words};

/// A page with a title. `class` is that of its body.
pub(super) fn frame(title: &str, class: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                // With this the browser makes sure that nothing is fetched and nothing runs.
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                title { (safe(title)) }
                style { (PreEscaped(COLOURS)) (PreEscaped(RULES)) (PreEscaped(DIFFERENCES)) (PreEscaped(PAGE)) (PreEscaped(PRINT)) }
            }
            body class=(class) { (body) }
        }
        "\n"
    };
    page.into_string()
}

/// Boxes to tick, one a word or sentence.
pub(super) fn boxes(words: &[impl AsRef<str>]) -> Markup {
    html! { ul.done { @for word in words { li { (with_typed_words(word.as_ref())) } } } }
}

/// Lines to write on, each after what belongs there; the last of them is the longest.
pub(super) fn to_fill_in(words: &[&str]) -> Markup {
    html! { div.lines { @for word in words { p { (word) span.rule {} } } } }
}
