//! The page of a verdict and its picture: what they show of the finding, and that each file is told.

use crate::support::bench::Folder;

/// A folder with a 2716's test pattern, and what is read of it when the chip sees A7 as 0.
fn dead_line() -> Folder {
    let folder = Folder::new();
    folder.ok("pattern telltale 2K + write wanted.bin");
    let image = folder.get("wanted.bin");
    let read: Vec<u8> = (0..image.len()).map(|a| image[a & !0x80]).collect();
    folder.put("read <1>.bin", read);
    folder
}

const DIAGNOSE: &str = "load 'read <1>.bin' + diagnose --wanted wanted.bin --part 2716";

fn text(folder: &Folder, name: &str) -> String {
    String::from_utf8(folder.get(name)).unwrap()
}

#[test]
fn files_are_put_in_place_only_when_all_succeeds() {
    let folder = dead_line();
    let line = format!("{DIAGNOSE} --picture map.svg --sheet page.html");
    assert_eq!(folder.run(&format!("{line} + expect size 5")).code, 1);
    assert!(!folder.path("map.svg").exists() && !folder.path("page.html").exists());
    assert_eq!(folder.run(&line).code, 1);
    let (svg, page) = (folder.get("map.svg"), folder.get("page.html"));
    // The same read gives the same files.
    let again = folder.run(&line);
    assert_eq!(
        (folder.get("map.svg"), folder.get("page.html")),
        (svg, page)
    );
    assert!(again.out.contains("unchanged map.svg"), "{}", again.out);
}

#[test]
fn every_file_is_told() {
    let folder = dead_line();
    let line = format!("{DIAGNOSE} --picture map.svg --sheet page.html");
    let tried = folder.run(&format!("--dry-run {line}"));
    for told in [
        "would write map.svg    picture of read <1>",
        "would write page.html  verdict on read <1>",
    ] {
        assert!(tried.out.contains(told), "{}", tried.out);
    }
    assert!(!folder.path("page.html").exists());
    let done = folder.run(&line);
    for told in [
        "wrote map.svg    picture of read <1>",
        "wrote page.html  verdict on read <1>",
    ] {
        assert!(done.out.contains(told), "{}", done.out);
    }
}

/// Both names of one step, and those of other steps.
#[test]
fn two_files_of_one_name_are_refused_before_anything_runs() {
    let folder = dead_line();
    for (line, told) in [
        (
            format!("{DIAGNOSE} --picture map.svg + write map.svg --as raw"),
            "map.svg is written twice",
        ),
        (
            format!("{DIAGNOSE} --picture map.svg --sheet page.html + sheet page.html"),
            "page.html is written twice",
        ),
        (
            format!("{DIAGNOSE} --picture page.html"),
            "page.html is not the name of a picture: end it with .svg",
        ),
        (
            format!("{DIAGNOSE} --sheet page.svg"),
            "page.svg is not the name of a page: end it with .html",
        ),
    ] {
        let ran = folder.run(&line);
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.told().contains(told), "{line}: {}", ran.err);
        assert!(!folder.path("map.svg").exists());
    }
}

#[test]
fn the_page_says_it_in_words_and_marks_the_pin_and_the_row() {
    let folder = dead_line();
    folder.run(&format!("{DIAGNOSE} --sheet page.html"));
    let page = text(&folder, "page.html");
    // Not the terminal's text.
    assert!(!page.contains("<pre") && !page.contains("<script") && !page.contains("<1>"));
    assert_eq!(page.matches("The chip sees A7 as 0 everywhere").count(), 1);
    assert!(page.contains("<p>The chip sees A7 as 0 everywhere.</p><p>This is certain.</p>"));
    assert!(page.contains("<span>1,024 of 2,048 bytes differ, in 3,072 bits</span>"));
    // The pin of A7 on a 2716 is 1 (common practice).
    assert!(page.contains("Look at what is marked: A7 on pin 1."));
    assert!(page.contains("text-anchor=\"end\">A7</text>"));
    assert_eq!(page.matches("<text class=\"look\"").count(), 1);
    // Its row among the bars, and no other.
    assert_eq!(page.matches("<rect class=\"look\" x=\"2\"").count(), 1);
    let row = page.split_once("<rect class=\"look\" x=\"2\"").unwrap().1;
    assert!(row.contains(">A7</text>") && row.contains(">0 | 1,024</text>"));
    // What to do has a box; nothing is said of burning.
    assert!(page.contains("<ul class=\"done\"><li>Check pin 1 and its socket contact"));
    for word in ["UV-C", "Before you", "Programming voltage"] {
        assert!(!page.contains(word), "{word}");
    }
}

#[test]
fn the_picture_is_a_file_for_light_and_dark() {
    let folder = dead_line();
    folder.run(&format!("{DIAGNOSE} --picture map.svg"));
    let svg = text(&folder, "map.svg");
    assert!(svg.starts_with("<?xml") && svg.ends_with("</svg>\n"));
    assert!(svg.contains("read &lt;1&gt; against wanted.bin"));
    assert!(svg.contains("The chip sees A7 as 0 everywhere") && svg.contains(">0 | 1,024<"));
    assert!(svg.contains("prefers-color-scheme:dark"));
    // Every direction has its texture.
    for class in ["rising", "falling", "lattice"] {
        assert!(svg.contains(&format!("url(#{class})")));
    }
    assert_eq!(svg.matches("<svg").count(), svg.matches("</svg>").count());
}

#[test]
fn what_cannot_be_drawn_still_has_a_page() {
    let folder = dead_line();
    folder.put("short.bin", &folder.get("wanted.bin")[..1000]);
    let line = "load short.bin + diagnose --wanted wanted.bin";
    let ran = folder.run(&format!("{line} --picture map.svg"));
    assert_eq!(ran.code, 2);
    assert!(
        ran.err
            .contains("the read has 1,000 bytes, the wanted image 2,048 bytes"),
        "{}",
        ran.err
    );
    assert_eq!(folder.run(&format!("{line} --sheet page.html")).code, 1);
    assert!(text(&folder, "page.html").contains("No picture: the read and the wanted image"));
}

#[test]
fn each_chip_of_a_set_has_its_page() {
    let folder = dead_line();
    folder.ok("pattern random 2K + write even.bin");
    folder.ok("pattern random 2K --seed 9 + write odd.bin");
    let odd = folder.get("odd.bin");
    folder.put("read-even.bin", folder.get("even.bin"));
    folder.put(
        "read-odd.bin",
        odd.iter().map(|byte| byte & !8).collect::<Vec<u8>>(),
    );
    let line = "load even.bin odd.bin --apart + diagnose --read 'read-{name}.bin'";
    let one = folder.run(&format!("{line} --sheet page.html"));
    assert_eq!(one.code, 2);
    assert!(
        one.told()
            .contains("there are 2 chips but one name: put {name} into it"),
        "{}",
        one.err
    );
    let ran = folder.run(&format!(
        "{line} --sheet 'out/{{name}}.html' --picture '{{n}}.svg'"
    ));
    assert_eq!(ran.code, 1, "{}", ran.err);
    for told in [
        "wrote out/even.html  verdict on even",
        "wrote out/odd.html   verdict on odd",
        "wrote 0.svg ",
        "wrote 1.svg ",
    ] {
        assert!(ran.out.contains(told), "{told}: {}", ran.out);
    }
    let (even, odd) = (
        text(&folder, "out/even.html"),
        text(&folder, "out/odd.html"),
    );
    assert!(even.contains("The read is the wanted image: the chip is right."));
    assert!(
        odd.contains("<tr class=\"own\"><td>odd</td>")
            && odd.contains("<td>even</td><td>as wanted</td>")
    );
    let hostile =
        folder.run("load even.bin --name a/b + diagnose --wanted odd.bin --sheet 'x-{name}.html'");
    assert!(
        hostile.err.contains("can't be part of a file's name"),
        "{}",
        hostile.err
    );
}
