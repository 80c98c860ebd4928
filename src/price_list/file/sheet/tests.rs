use std::io::{Cursor, Write as _};

use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook, Worksheet};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::super::table;
use super::read;

/// A file with one sheet.
fn sheet(fill: impl FnOnce(&mut Worksheet)) -> Vec<u8> {
    let mut book = Workbook::new();
    fill(book.add_worksheet());
    book.save_to_buffer().unwrap()
}

const ROOT: &str = r#"<Relationships><Relationship Id="a" Type="x/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const BOOK: &str =
    r#"<workbook xmlns:r="r"><sheets><sheet name="S" sheetId="1" r:id="a"/></sheets></workbook>"#;
const REFERENCES: &str = r#"<Relationships>
    <Relationship Id="a" Type="x/worksheet" Target="worksheets/s.xml"/>
    <Relationship Id="b" Type="x/sharedStrings" Target="/xl/Texts.xml"/>
    <Relationship Id="c" Type="x/styles" Target="../xl/./styles.xml"/></Relationships>"#;

/// A file packed by hand: the sheet's XML, its shared texts, its styles.
fn packed(cells: &str, texts: &str, styles: &str) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let how = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    let sheet = format!("<worksheet><sheetData>{cells}</sheetData></worksheet>");
    for (name, text) in [
        ("_rels/.rels", ROOT),
        ("xl/workbook.xml", BOOK),
        ("xl/_rels/workbook.xml.rels", REFERENCES),
        ("xl/worksheets/s.xml", &sheet),
        ("xl/texts.xml", texts),
        ("xl/styles.xml", styles),
    ] {
        zip.start_file(name, how).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

fn cells(cells: &str) -> Result<String, String> {
    read(&packed(cells, "<sst/>", "<styleSheet/>"))
}

#[test]
fn a_sheet_becomes_lines_that_keep_their_numbers() {
    let bytes = sheet(|sheet| {
        let percent = Format::new().set_num_format("0.0%");
        let day = Format::new().set_num_format("dd/mm/yyyy");
        let time = Format::new().set_num_format("hh:mm");
        for (column, heading) in ["material", "in a pack", "price", "usual loss", "from"].iter().enumerate() {
            sheet.write(2, u16::try_from(column).unwrap(), *heading).unwrap();
        }
        sheet.write(2, 6, "cut-off time").unwrap();
        sheet.write(5, 0, "Rose, \"ivory\"\nlong").unwrap();
        sheet.write(5, 1, 25).unwrap();
        sheet.write_formula(5, 2, Formula::new("=15.6*2").set_result("31.199999999999999")).unwrap();
        sheet.write_with_format(5, 3, 0.05, &percent).unwrap();
        sheet.write_with_format(5, 4, ExcelDateTime::from_ymd(2026, 3, 1).unwrap(), &day).unwrap();
        sheet.write(5, 5, true).unwrap();
        sheet.write_with_format(5, 6, ExcelDateTime::from_hms(11, 30, 0).unwrap(), &time).unwrap();
    });
    let text = read(&bytes).unwrap();
    assert_eq!(
        text,
        "\n\nmaterial,in a pack,price,usual loss,from,,cut-off time\n\n\n\
        \"Rose, \"\"ivory\"\" long\",25,31.2,5,2026-03-01,yes,11:30\n"
    );
    let table = table::read(&text).unwrap();
    assert_eq!((table.lines.len(), table.lines[0].number), (1, 6));
}

#[test]
fn the_first_visible_sheet_that_holds_anything_counts() {
    let mut book = Workbook::new();
    book.add_worksheet().set_name("Empty").unwrap();
    book.add_worksheet().write(0, 0, "hidden").unwrap().set_hidden(true);
    book.add_worksheet().write(0, 0, "material").unwrap();
    book.add_worksheet().write(0, 0, "later").unwrap();
    assert_eq!(read(&book.save_to_buffer().unwrap()).unwrap(), "material\n");
    assert!(read(&sheet(|_| {})).unwrap_err().contains("nothing in its sheets"));
}

#[test]
fn texts_are_read_as_they_are_shown() {
    let texts = "<sst uniqueCount=\"2\"><si><t> Tulip &amp; &#228; </t></si>\
        <si><r><t>Ro</t></r><r><t>se</t></r><rPh><t>aside</t></rPh></si></sst>";
    let rows = "<row><c t=\"s\"><v>1</v></c><c t=\"s\"><v>0</v></c></row>\
        <row><c t=\"inlineStr\"><is><t>_x0041_1_x000D_</t></is></c><c r=\"D2\"><f>1+1</f><v>2.0</v></c></row>\
        <row r=\"4\"><c r=\"A4\" t=\"d\"><v>2026-05-04T10:00:00</v></c><c t=\"str\"><v><![CDATA[<b>]]></v></c>\
        <c t=\"b\"><v>0</v></c><c><v>1E-3</v></c><c s=\"99\"><v>word</v></c></row>";
    let text = read(&packed(rows, texts, "<styleSheet/>")).unwrap();
    assert_eq!(text, "Rose, Tulip & ä \nA1 ,,,2\n\n2026-05-04,<b>,no,0.001,word\n");
}

#[test]
fn styles_say_what_a_number_is() {
    let styles = "<styleSheet><numFmts><numFmt numFmtId=\"164\" formatCode=\"yyyy\\-mm\\-dd;@\"/></numFmts>\
        <cellStyleXfs><xf numFmtId=\"9\"/></cellStyleXfs>\
        <cellXfs><xf/><xf numFmtId=\"10\"/><xf numFmtId=\"164\"/></cellXfs></styleSheet>";
    let rows = "<row><c s=\"0\"><v>0.5</v></c><c s=\"1\"><v>0.155</v></c><c s=\"2\"><v>46146.9</v></c></row>";
    assert_eq!(read(&packed(rows, "<sst/>", styles)).unwrap(), "0.5,15.5,2026-05-04\n");
    let late = "<row r=\"3\"><c r=\"B3\" s=\"2\"><v>99999999</v></c></row>";
    let refused = read(&packed(late, "<sst/>", styles)).unwrap_err();
    assert!(refused.contains("Cell B3 holds “99999999”, which is no day"), "{refused}");
}

#[test]
fn what_a_cell_cannot_say_is_refused_by_its_name() {
    for (row, words) in [
        (
            "<row r=\"7\"><c r=\"B7\" t=\"e\"><v>#N/A</v></c></row>",
            "Cell B7 holds the sheet's own error “#N/A”",
        ),
        ("<row><c><v>1e300</v></c></row>", "Cell A1 holds “1e300”, which is no number"),
        ("<row><c><v>NaN</v></c></row>", "Cell A1 holds “NaN”"),
        (
            "<row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row>",
            "Cell XFD1048576 is filled; 500 columns",
        ),
        ("<row r=\"100002\"><c><v>1</v></c></row>", "Cell A100002 is filled"),
        ("<row><c r=\"SG1\"><v>1</v></c></row>", "Cell SG1 is filled"),
    ] {
        let message = cells(row).unwrap_err();
        assert!(message.contains(words), "{row}: {message}");
    }
    // An empty cell far away is a style, not a filled cell.
    let far = "<row><c><v>1</v></c></row><row r=\"1048576\"><c r=\"XFD1048576\" s=\"3\"/></row>";
    assert_eq!(cells(far).unwrap(), "1\n");
}

#[test]
fn a_broken_file_is_refused() {
    let whole = sheet(|sheet| {
        sheet.write(0, 0, "material").unwrap();
    });
    for cut in [4, 30, whole.len() / 2, whole.len() - 1] {
        assert!(read(&whole[..cut]).unwrap_err().contains("broken"), "{cut}");
    }
    for row in [
        "<row r=\"2\"/><row r=\"2\"/>",
        "<row r=\"99999999999999999999\"/>",
        "<row r=\"0\"/>",
        "<row><c r=\"ABCDEFGH1\"><v>1</v></c></row>",
        "<row><c t=\"s\"><v>5</v></c></row>",
        "<row><c><v>1</row>",
        "<row><c t=\"str\"><v>&bomb;</v></c></row>",
        "<c><v>1</v>",
    ] {
        assert!(cells(row).unwrap_err().contains("broken"), "{row}");
    }
    let not = "is a packed file, but no .xlsx";
    assert!(read(&archive([("mimetype".to_owned(), 10)])).unwrap_err().contains(not));
}

/// An archive of files of zeros.
fn archive(files: impl IntoIterator<Item = (String, usize)>) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let how = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, size) in files {
        zip.start_file(name, how).unwrap();
        zip.write_all(&vec![b' '; size]).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

#[test]
fn a_bomb_is_not_unpacked() {
    // 40 MB of spaces are packed in 40 kB.
    let bomb = packed(&" ".repeat(40 * 1024 * 1024), "<sst/>", "<styleSheet/>");
    assert!(bomb.len() < 100_000);
    let message = read(&bomb).unwrap_err();
    assert!(message.contains("unpacks to more than 1"), "{message}");
    let many = archive((0..2_001).map(|number| (number.to_string(), 0)));
    assert!(read(&many).unwrap_err().contains("more than 2000 files"));
}

#[test]
fn what_a_file_promises_is_not_set_aside() {
    // A number of texts that no memory holds.
    let texts = "<sst count=\"9\" uniqueCount=\"1000000000000000000\"><si><t>a</t></si></sst>";
    assert_eq!(read(&packed("<row><c t=\"s\"><v>0</v></c></row>", texts, "<styleSheet/>")).unwrap(), "a\n");
    // A directory of 65,535 files where there are six.
    let bytes = packed("", "<sst/>", "<styleSheet/>");
    let (before, end) = bytes.split_at(bytes.len() - 22);
    let mut many = end.to_vec();
    many[8..12].fill(0xff);
    assert!(read(&[before, &many].concat()).unwrap_err().contains("broken"));
    // And in the large form of as many as a number may be.
    let mut large = b"PK\x06\x06".to_vec();
    large.extend_from_slice(&44_u64.to_le_bytes());
    large.extend_from_slice(&[0; 12]);
    large.extend_from_slice(&[0xff; 32]);
    assert!(read(&[before, &large, &many].concat()).unwrap_err().contains("more than 2000 files"));
}

#[test]
fn one_text_in_many_cells_stays_within_the_largest_file() {
    let texts = format!("<sst><si><t>{}</t></si></sst>", "x".repeat(1_000_000));
    let row = format!("<row>{}</row>", "<c t=\"s\"><v>0</v></c>".repeat(100));
    let message = read(&packed(&row, &texts, "<styleSheet/>")).unwrap_err();
    assert!(message.contains("more than 64 MB of text"), "{message}");
}
