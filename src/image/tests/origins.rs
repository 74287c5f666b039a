use super::support::*;

#[test]
fn sources_are_named_as_messages_name_them() {
    for (source, name, is_filler) in [
        (file("a.hex"), "a.hex", false),
        (Source::Filler, "filler", true),
        (Source::Stamp("sum16".into()), "stamp sum16", false),
        (Source::Patch, "patch", false),
        (Source::Mark, "mark", false),
        (
            Source::Pattern("telltale".into()),
            "pattern telltale",
            false,
        ),
        (Source::Copy, "copy", false),
        (Source::Majority, "majority", false),
        (
            Source::Woven(vec![file("a").into(), Source::Filler.into()]),
            "a and filler in turn",
            false,
        ),
        (
            Source::Woven(vec![Source::Filler.into(), Source::Filler.into()]),
            "filler and filler in turn",
            true,
        ),
    ] {
        assert_eq!(source.to_string(), name);
        assert_eq!(source.is_filler(), is_filler, "{name}");
    }
}

#[test]
fn filler_is_known_as_filler() {
    let mut image = Image::from_bytes(4, vec![1], file("a")).unwrap();
    image.fill_holes(r(2, 7), |a| a as u8);
    assert_eq!(image.spans()[0].bytes(), [2, 3, 1, 5, 6, 7]);
    assert!(image.origin_at(2).unwrap().source.is_filler());
    assert!(!image.origin_at(4).unwrap().source.is_filler());
    assert_sound(&image);
}
