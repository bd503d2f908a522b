//! What a whole page must be.

use std::process::Command;
use std::sync::LazyLock;

use super::*;

/// Where a copy of the sample report is wanted, to be looked at.
const SAMPLE_PATH: &str = "TRUNNION_SAMPLE_REPORT";

/// The sample and its page, made once.
static SAMPLE: LazyLock<(ReportData, String)> = LazyLock::new(|| {
    let data = sample::report();
    let page = html(&data).unwrap();
    (data, page)
});

/// Elements without an end tag (HTML Living Standard, "Void elements").
const VOID: [&str; 4] = ["meta", "link", "input", "br"];

/// Checks that every element is closed in order and gives the text between tags and the attributes.
fn walk(page: &str) -> Result<(String, Vec<(String, String)>), String> {
    let (mut open, mut text, mut attributes) = (Vec::new(), String::new(), Vec::new());
    let mut rest = page.strip_prefix("<!DOCTYPE html>").ok_or("no doctype")?;
    while let Some(start) = rest.find('<') {
        text.push_str(&rest[..start]);
        rest = &rest[start + 1..];
        if let Some(tag) = rest.strip_prefix('/') {
            let end = tag.find('>').ok_or("end tag without an end")?;
            let expected = open.pop();
            if expected != Some(&tag[..end]) {
                return Err(format!("</{}> where {expected:?} is open", &tag[..end]));
            }
            rest = &tag[end + 1..];
            continue;
        }
        let name_end = rest.find([' ', '>']).ok_or("tag without an end")?;
        let name = &rest[..name_end];
        if name.is_empty() || !name.bytes().all(|byte| byte.is_ascii_alphanumeric()) {
            return Err(format!("'<{name}' is no tag"));
        }
        rest = &rest[name_end..];
        while let Some(inner) = rest.strip_prefix(' ') {
            let end = inner.find([' ', '>', '=']).ok_or("attribute without an end")?;
            let attribute = inner[..end].to_owned();
            rest = &inner[end..];
            let value = match rest.strip_prefix("=\"") {
                Some(quoted) => {
                    let end = quoted.find('"').ok_or("quote without an end")?;
                    rest = &quoted[end + 1..];
                    quoted[..end].to_owned()
                }
                None => String::new(),
            };
            attributes.push((attribute, value));
        }
        rest = rest.strip_prefix('>').ok_or_else(|| format!("<{name} does not end"))?;
        if matches!(name, "script" | "style") {
            let end = rest.find(&format!("</{name}")).ok_or("raw text without an end")?;
            rest = &rest[end..];
            open.push(name);
        } else if !VOID.contains(&name) {
            open.push(name);
        }
    }
    if open.is_empty() { Ok((text, attributes)) } else { Err(format!("{open:?} stay open")) }
}

#[test]
fn a_report_of_ten_runs_is_well_formed_and_stays_small() {
    let (data, page) = &*SAMPLE;
    walk(page).unwrap();
    let columns = data.runs[0].columns.len();
    assert!(columns >= 75, "{columns} columns");
    assert!(page.len() < 8_000_000, "{} bytes", page.len());
    assert_eq!(*page, html(data).unwrap(), "the same data gives the same bytes");
    if let Ok(path) = std::env::var(SAMPLE_PATH) {
        std::fs::write(&path, page).unwrap();
        let picture = svg::group(&data.runs[0], &data.runs[0].plots[0]).unwrap();
        std::fs::write(format!("{path}.svg"), picture).unwrap();
        println!("{} bytes in {path}", page.len());
    }
}

#[test]
fn every_requirement_of_every_run_is_in_the_page_with_its_margin() {
    let (data, page) = &*SAMPLE;
    let (text, _) = walk(page).unwrap();
    for run in &data.runs {
        assert!(text.contains(&run.title), "{}", run.title);
        for row in &run.requirements {
            for part in [&row.id, &row.sentence, &row.hazard, &row.explanation] {
                assert!(text.contains(part.as_str()), "{part}");
            }
            if let Some(margin) = row.margin {
                let margin = axis::significant(margin);
                assert!(text.contains(&margin), "{margin} of {}", row.id);
            }
        }
    }
    let all: usize = data.runs.iter().map(|run| run.requirements.len()).sum();
    let held: usize = data.runs.iter().map(|run| run.count(Verdict::Held)).sum();
    assert!(text.contains(&format!("{held} of {all} held")));
}

#[test]
fn nothing_is_loaded_from_elsewhere_and_nothing_inline_escapes_the_policy() {
    let (_, page) = &*SAMPLE;
    let (_, attributes) = walk(page).unwrap();
    for (name, value) in &attributes {
        assert!(!name.starts_with("on") && name != "style", "{name}={value} needs a looser policy");
        if matches!(name.as_str(), "href" | "src" | "srcset" | "data" | "action") {
            assert!(value.starts_with('#') || value == "data:,", "{name}={value} leaves the page");
        }
    }
    for call in ["http://", "https://", "fetch(", "XMLHttpRequest", "import(", "@import", "url(", "eval("] {
        let allowed =
            call == "http://" && page.matches(call).count() == page.matches("http://www.w3.org/").count();
        assert!(allowed || !page.contains(call), "{call}");
    }
}

#[test]
fn hostile_text_stays_text_wherever_it_stands() {
    const HOSTILE: &str = "\0\u{1b}</script><script>alert('1')</script>\"'&<!--<img src=x onerror=alert(2)>";
    let text = || HOSTILE.to_owned();
    let mut data = SAMPLE.0.clone();
    data.runs.truncate(1);
    let run = &mut data.runs[0];
    for text_of in
        [&mut run.title, &mut run.about, &mut run.hash, &mut data.machine, &mut data.title, &mut data.about]
    {
        *text_of = text();
    }
    run.columns[0].name = text();
    run.columns[0].doc = text();
    run.columns[0].unit = text();
    for lane in run.plots.iter_mut().flat_map(|group| &mut group.lanes) {
        lane.title = text();
        lane.unit = text();
        lane.limits.push(Limit { value: 0.0, label: text() });
        for series in &mut lane.series {
            if series.column == "lever_left_y" {
                series.column = text();
            }
            series.label = text();
        }
    }
    let choices = run.columns.iter_mut().flat_map(|column| &mut column.choices);
    choices.for_each(|choice| *choice = text());
    let row = &mut run.requirements[0];
    (row.id, row.sentence, row.hazard, row.unit, row.explanation) = (text(), text(), text(), text(), text());
    run.faults.push(FaultEvent { code: text(), text: text(), reaction: text(), ..FaultEvent::default() });
    run.why_not.push(WhyNot { group: text(), reasons: vec![text()], ..WhyNot::default() });
    run.log.push(LogLine { at: None, source: text(), text: text() });
    run.parity = Parity::Differs { controller: text(), first: text() };
    data.parity = Parity::Differs { controller: text(), first: text() };
    data.provenance.push(Fact::new(text(), text()));
    data.tables.push(Table { title: text(), caption: text(), head: vec![text()], rows: vec![vec![text()]] });
    data.comparisons[0].title = text();
    data.comparisons[0].lanes[0].curves[0].label = text();
    let page = html(&data).unwrap();
    let (_, attributes) = walk(&page).unwrap();
    assert!(!attributes.iter().any(|(name, _)| name == "onerror"));
    assert!(!page.contains("<img") && !page.contains(|c: char| c.is_control() && c != '\n'));
    // Two kinds of script elements: data of a board, and the one script.
    let scripts = page.matches("<script").count();
    assert_eq!(scripts, page.matches("<script type=\"application/json\"").count() + 1);
}

#[test]
fn picture_files_are_well_formed_and_carry_their_colours() {
    let mut run = SAMPLE.0.runs[3].clone();
    run.plots[0].lanes[0].title = "<&\u{b}\">".into();
    let files = [
        svg::group(&run, &run.plots[0]).unwrap(),
        svg::events(&run).unwrap().unwrap(),
        svg::comparison(&SAMPLE.0.comparisons[1]).unwrap(),
        svg::top_view(&run).unwrap().unwrap(),
    ];
    for file in files {
        let (_, attributes) = walk(&format!("<!DOCTYPE html>{file}")).unwrap();
        assert_eq!(attributes[0], ("xmlns".into(), "http://www.w3.org/2000/svg".into()));
        assert!(file.contains("--line-0:") && !file.contains('\u{b}'));
    }
}

#[test]
fn an_empty_report_is_a_page_too() {
    let page = html(&ReportData::default()).unwrap();
    let (text, _) = walk(&page).unwrap();
    assert!(text.contains("None monitored") && text.contains("No certification is claimed"));
    let mut bare = ReportData::default();
    bare.runs.push(RunReport::default());
    walk(&html(&bare).unwrap()).unwrap();
}

#[test]
fn a_run_that_cannot_be_drawn_is_refused() {
    let mut data = SAMPLE.0.clone();
    data.runs[3].columns[5].values.pop();
    assert!(matches!(html(&data), Err(ReportError::Uneven { .. })));
}

/// Runs a script under node; `None`, said aloud, where there is none.
fn node(script: &str) -> Option<String> {
    let path = std::env::temp_dir().join(format!("trunnion-report-{}-{:p}.js", std::process::id(), &script));
    std::fs::write(&path, script).unwrap();
    let output = Command::new("node").arg(&path).output();
    let _ = std::fs::remove_file(&path);
    match output {
        Ok(output) => {
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
            Some(String::from_utf8(output.stdout).unwrap())
        }
        Err(error) => {
            eprintln!("SKIPPED: the page's script was not run, because node could not be started: {error}");
            None
        }
    }
}

#[test]
fn the_page_s_script_reads_back_what_was_packed() {
    let samples = codec::tests::samples();
    let packed: Vec<codec::Packed> = samples.iter().map(|(_, values)| codec::pack(values)).collect();
    let script = format!(
        "{}\nconsole.log(JSON.stringify({}.map((packed) => Array.from(unpack(packed)))));",
        include_str!("script/codec.js"),
        serde_json::to_string(&packed).unwrap(),
    );
    let Some(output) = node(&script) else { return };
    let back: Vec<Vec<Option<f64>>> = serde_json::from_str(&output).unwrap();
    assert_eq!(back.len(), samples.len());
    for ((name, values), back) in samples.iter().zip(&back) {
        assert_eq!(values.len(), back.len(), "{name}");
        let allowed = codec::tests::allowed(values) * 1.000_001;
        for (row, (was, is)) in values.iter().zip(back).enumerate() {
            match is {
                Some(is) => {
                    let off = (was - is).abs();
                    assert!(off <= allowed, "{name} row {row}: {was} became {is}");
                }
                None => assert!(!was.is_finite(), "{name} row {row}: {was} is missing"),
            }
        }
    }
}

#[test]
fn script_and_still_pictures_agree_on_ticks_and_numbers() {
    let ends =
        [(0.0, 60.0), (-1.05, 1.05), (12.303, 12.341), (0.0, 9.9), (-3.3, 812.0), (1e-4, 3e-4), (5.0, 5.0)];
    let ask: Vec<String> =
        ends.iter().map(|(low, high)| format!("Object.values(ticks({low}, {high}, 5))")).collect();
    let script = format!(
        "{}\nconsole.log(JSON.stringify([[{}], [-0.001, -1.5, 3].map((v) => number(v, 2)), fit(1450, 1450), fit(3, 60)]));",
        include_str!("script/axis.js"),
        ask.join(","),
    );
    let Some(output) = node(&script) else { return };
    let back: serde_json::Value = serde_json::from_str(&output).unwrap();
    for (index, (low, high)) in ends.into_iter().enumerate() {
        let (values, decimals) = axis::ticks(low, high, 5);
        let theirs: Vec<f64> = serde_json::from_value(back[0][index][0].clone()).unwrap();
        assert_eq!(theirs.len(), values.len(), "{low}..{high}");
        assert!(theirs.iter().zip(&values).all(|(a, b)| (a - b).abs() < 1e-9), "{theirs:?} {values:?}");
        assert_eq!(back[0][index][1], decimals, "{low}..{high}");
    }
    assert_eq!(back[1], serde_json::json!(["0.00", "−1.50", "3.00"]));
    let (low, high) = axis::fit([3.0, 60.0].into_iter()).unwrap();
    assert_eq!(back[3], serde_json::json!([low, high]));
}

#[test]
fn the_whole_script_is_sound_for_a_parser() {
    let script = format!("new Function({});", serde_json::to_string(&page::SCRIPT.concat()).unwrap());
    node(&script);
}
