//! The page of a diagnosis.

use maud::{DOCTYPE, PreEscaped, html};

use super::cautions::cautions;
use super::css::{COLOURS, PAGE, RULES};
use super::words::safe;

/// A page to print with the verdict on a chip and the drawing of its differences, which is an SVG document of ours.
pub fn diagnosis_sheet(title: &str, verdict: &str, drawing: &str) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                title { (safe(title)) }
                style { (PreEscaped(COLOURS)) (PreEscaped(RULES)) (PreEscaped(PAGE)) }
                style { (PreEscaped("pre{white-space:pre-wrap;font-size:.95rem;line-height:1.5}figure{background:#fff;padding:1rem}figure svg{max-width:100%;height:auto}")) }
            }
            body {
                header.head { h1 { (safe(title)) } }
                pre { @for line in verdict.lines() { (safe(line)) "\n" } }
                figure { (PreEscaped(drawing)) }
                (cautions())
            }
        }
        "\n"
    };
    page.into_string()
}
