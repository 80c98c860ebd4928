//! What is run over hostile input: each body takes bytes, must not panic, and holds what it read against a law.
//! Shared by the fuzz targets beside it and by `tests/app/hostile.rs`, the short form.

use std::io::{Cursor, Write as _};
use std::str::FromStr;
use std::sync::LazyLock;

use iso_currency::Currency;
use trug::book_files::import::{add, import};
use trug::book_files::source::{MemoryFiles, Source};
use trug::db::Book;
use trug::ground::dates::{Day, Moment, TimeOfDay};
use trug::ground::formats::{DateStyle, Formats, read_decimal, read_whole};
use trug::ground::ids::OfferPriceId;
use trug::ground::quantity::LengthUnit;
use trug::papers::picture;
use trug::price_list::calendar_words::{read_months, read_weekdays};
use trug::price_list::entries::PriceEntry;
use trug::price_list::file::table::{self, MOST_BYTES, MOST_LINES};
use trug::price_list::file::{KnownList, KnownOffer, Writes, key, sheet as spreadsheet};
use trug::price_list::forms::file::{LineStanding, export, plan};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// One studio of each kind: decimals, unit, order of a date's parts.
fn studios() -> [Formats; 3] {
    [
        (Currency::EUR, LengthUnit::Centimetre, DateStyle::DayMonthYear),
        (Currency::JPY, LengthUnit::Inch, DateStyle::MonthDayYear),
        (Currency::KWD, LengthUnit::Inch, DateStyle::Iso),
    ]
    .map(|(currency, length_unit, date_style)| Formats { currency, length_unit, date_style })
}

fn today() -> Day {
    "2026-05-04".parse().unwrap()
}

/// A list with a few things in it.
pub const LIST: &str = "material,kind,supplier,pack,in a pack,price,from,until,delivers on,cut-off time,months,usual loss,head,comes back,cautions,note,usable length,loan fee\n\
    \"Rose, ivory\",flower,Marsh Lane,Bunch,25,\"31,00\",2026-03-01,2026-09-30,\"Mon, Thu\",11:00,Mar to Sep,5,medium,no,,\"several\nlines\",45 cm,\n\
    Ruscus,foliage,Marsh Lane,Bunch,10,7.5,,,,,all year,,,,,'=1+1,,\n\
    Glass bowl,vessel,,,,,,,,,,,,yes,,none,,1\n";

/// What a book knows that took a list in.
fn after(writes: &Writes) -> KnownList {
    let mut known = KnownList::default();
    known.suppliers.extend(writes.new_suppliers.iter().map(|(id, new)| (key(&new.name), (*id, new.clone()))));
    known.materials.extend(writes.new_materials.iter().map(|(id, new)| (key(&new.name), (*id, new.clone()))));
    for (id, offer) in &writes.new_offers {
        let prices = writes.prices.iter().filter(|(of, _)| of == id).enumerate();
        let prices = prices.map(|(at, (_, price))| PriceEntry {
            id: OfferPriceId(i64::try_from(at).unwrap() + 1),
            offer_id: *id,
            from_day: price.from_day,
            until_day: price.until_day,
            price: price.price,
            recorded_at: "2026-05-04T09:00:00Z".parse().unwrap(),
        });
        let known_offer = KnownOffer { id: *id, offer: offer.clone(), prices: prices.collect() };
        known.offers.insert(KnownList::offer_key(offer), known_offer);
    }
    known
}

static KNOWN: LazyLock<KnownList> = LazyLock::new(|| {
    let list = table::read(LIST).unwrap();
    let taken = plan(&list, &KnownList::default(), &studios()[0], today());
    assert_eq!(taken.count(LineStanding::Refused), 0, "{taken:?}");
    after(&taken.writes)
});

/// A price list's CSV file. Law: what was taken into an empty book and saved comes back as no change.
pub fn csv(bytes: &[u8]) {
    let Ok(text) = table::decode(bytes) else { return };
    let Ok(list) = table::read(&text) else { return };
    for formats in studios() {
        let beside = plan(&list, &KNOWN, &formats, today());
        assert_eq!(beside.lines.len(), list.lines.len());
        let _ = beside.fingerprint();
        let taken = plan(&list, &KnownList::default(), &formats, today());
        if taken.count(LineStanding::Refused) > 0 || taken.writes.is_empty() {
            continue;
        }
        let known = after(&taken.writes);
        let saved = export(&known, &formats, today());
        let again = table::read(&table::decode(saved.as_bytes()).unwrap()).unwrap();
        let again = plan(&again, &known, &formats, today());
        assert!(again.writes.is_empty(), "{saved}\n{again:#?}");
    }
}

/// Between the parts of a spreadsheet that is packed from a seed.
pub const CUT: u8 = 0xff;

/// A price list's spreadsheet: the file itself, or its sheet, shared texts, styles, workbook and references, packed here.
/// Law: what is read from it is a text that would also be taken as a CSV file, and reads the same.
pub fn sheet(bytes: &[u8]) {
    let packed = match bytes {
        [b'P', b'K', ..] => bytes.to_vec(),
        parts => packed(&parts.split(|byte| *byte == CUT).collect::<Vec<_>>()),
    };
    let Ok(text) = spreadsheet::read(&packed) else { return };
    assert!(text.len() <= MOST_BYTES && text.lines().count() <= MOST_LINES + 1);
    assert!(!text.contains(|c: char| c.is_control() && c != '\n'), "{text:?}");
    assert_eq!(table::decode(text.as_bytes()).as_deref(), Ok(text.trim_start_matches('\u{feff}')));
    csv(text.as_bytes());
}

/// The parts of a spreadsheet that a seed does not name.
const USUAL: [(&str, &[u8]); 6] = [
    ("xl/worksheets/sheet1.xml", b""),
    ("xl/sharedStrings.xml", b"<sst><si><t>material</t></si></sst>"),
    ("xl/styles.xml", b"<styleSheet><cellXfs><xf/><xf numFmtId=\"10\"/><xf numFmtId=\"14\"/></cellXfs></styleSheet>"),
    (
        "xl/workbook.xml",
        b"<workbook xmlns:r=\"r\"><sheets><sheet name=\"S\" sheetId=\"1\" r:id=\"a\"/></sheets></workbook>",
    ),
    (
        "xl/_rels/workbook.xml.rels",
        b"<Relationships><Relationship Id=\"a\" Type=\"x/worksheet\" Target=\"worksheets/sheet1.xml\"/>\
        <Relationship Id=\"b\" Type=\"x/sharedStrings\" Target=\"sharedStrings.xml\"/>\
        <Relationship Id=\"c\" Type=\"x/styles\" Target=\"styles.xml\"/></Relationships>",
    ),
    (
        "_rels/.rels",
        b"<Relationships><Relationship Id=\"a\" Type=\"x/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>",
    ),
];

fn packed(parts: &[&[u8]]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let plain = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (at, (name, usual)) in USUAL.iter().enumerate() {
        zip.start_file(*name, plain).unwrap();
        zip.write_all(parts.get(at).unwrap_or(usual)).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// An uploaded picture or sign. Law: what is kept is a picture of the size that is kept beside it.
pub fn picture(bytes: &[u8]) {
    if let Ok(read) = picture::read(bytes) {
        let size = |bytes: &[u8]| {
            let picture = image::load_from_memory(bytes).unwrap();
            (i64::from(picture.width()), i64::from(picture.height()))
        };
        assert_eq!(size(&read.full), (read.width, read.height));
        assert!(size(&read.small) <= (read.width, read.height));
    }
    if let Ok(sign) = picture::read_sign(bytes) {
        assert!(sign.width.max(sign.height) <= 800);
    }
}

/// What was read is written so that it is read again.
fn comes_back<T: FromStr + ToString + PartialEq + std::fmt::Debug>(text: &str) {
    if let Ok(read) = text.parse::<T>() {
        assert_eq!(read.to_string().parse::<T>().ok().as_ref(), Some(&read), "{text:?}");
    }
}

/// Days, times of day, moments, weekdays, months. Law: what was read and written is read again.
pub fn days(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    comes_back::<Day>(&text);
    comes_back::<TimeOfDay>(&text);
    comes_back::<Moment>(&text);
    if let Ok(day) = text.parse::<Day>() {
        for formats in studios() {
            assert!(!formats.weekday(day).is_empty());
        }
        assert!(day.monday() <= day && day.plus(i64::MAX) >= day && day.plus(i64::MIN) <= day);
        let _ = (day.days_after(today()), day.month_index());
    }
    assert!(
        read_months(&text).is_ok_and(|season| (0..=0xfff).contains(&season.0)) || read_months(&text).is_err()
    );
    assert!(
        read_weekdays(&text).is_ok_and(|days| (0..=0x7f).contains(&days.0)) || read_weekdays(&text).is_err()
    );
}

/// Money, lengths, shares, factors, quantities, weights. Law: what was read and written is read again as the same.
pub fn numbers(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    if let Ok(number) = read_decimal(&text) {
        assert_eq!(read_decimal(&number.to_string()), Ok(number), "{text:?}");
    }
    if let Some(number) = read_whole(&text) {
        assert_eq!(read_whole(&number.to_string()), Some(number));
    }
    for f in studios() {
        if let Ok(money) = f.read_money(&text) {
            assert_eq!(f.read_money(&f.money_input(money)), Ok(money), "{text:?}");
            let _ = (f.money(money), f.unit_cost(money.decimal()));
        }
        if let Ok(share) = f.read_share(&text) {
            assert_eq!(f.read_share(&f.share_input(share)), Ok(share), "{text:?}");
        }
        if let Ok(factor) = f.read_factor(&text) {
            assert_eq!(f.read_factor(&f.factor_input(factor)), Ok(factor), "{text:?}");
        }
        if let Ok(quantity) = f.read_quantity(&text) {
            assert_eq!(f.read_quantity(&f.quantity(quantity)), Ok(quantity), "{text:?}");
        }
        if let Ok(length) = f.read_length(&text) {
            // Shown in thousandths of the studio's unit, so that less than half of one may be lost.
            let shown = f.length_input(length);
            let lost = f.read_length(&shown).map_or(length.um(), |again| (again.um() - length.um()).abs());
            assert!(lost * 2_000 <= f.length_unit.um() + 2_000, "{text:?}: {shown}");
        }
        if let Ok(weight) = f.read_weight(&text) {
            assert!(!f.weight(weight).is_empty());
        }
    }
}

/// A book that files are read into, and taken back.
struct Into {
    runtime: tokio::runtime::Runtime,
    book: Book,
    folder: std::path::PathBuf,
}

static INTO: LazyLock<Into> = LazyLock::new(|| {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    let folder = std::env::temp_dir().join(format!("trug-hostile-{}", std::process::id()));
    let book = runtime.block_on(Book::open(&folder.join("studio.trug"))).unwrap();
    Into { runtime, book, folder }
});

/// Removes the book that files were read into.
pub fn tidy_up() {
    let _ = std::fs::remove_dir_all(&INTO.folder);
}

/// Files of a whole book, one behind the other: each begins with its name on a line of its own, behind `# `.
fn files(bytes: &[u8]) -> MemoryFiles {
    let text = bytes.split(|byte| *byte == b'\n');
    let (mut files, mut name) = (MemoryFiles::new(), None::<String>);
    for line in text {
        if let Some(begun) = line.strip_prefix(b"# ") {
            name = Some(String::from_utf8_lossy(begun).trim().to_owned());
        } else if let Some(name) = &name {
            let file = files.entry(name.clone()).or_default();
            file.extend_from_slice(line);
            file.push(b'\n');
        }
    }
    files
}

/// The files of a whole book: the mark file, and tables that are read into an open book. Law: a book takes them or says
/// where it does not, and whatever it took, it holds together.
pub fn whole_book(bytes: &[u8]) {
    let files = files(bytes);
    let source = Source::Memory(&files);
    let into = &*INTO;
    if !files.contains_key("studio.csv") {
        // The mark alone: whatever it says, no book comes of it.
        let path = into.folder.join("never.trug");
        assert!(into.runtime.block_on(import(source, &path, 0)).is_err() && !path.exists());
    }
    let tables: Vec<&str> = files.keys().filter_map(|name| name.strip_suffix(".csv")).collect();
    into.runtime.block_on(async {
        let mut fill = into.book.fill().await.unwrap();
        if let Err(refused) = add(source, &mut fill, &tables, 1).await {
            assert!(!refused.to_string().is_empty());
        } else {
            let wrong = trug::db::schema::tables(&mut fill).await;
            assert!(wrong.is_ok());
        }
        fill.rollback().await.unwrap();
    });
}

const DAYS: [&str; 16] = [
    "2026-05-04",
    "9999-12-31",
    "-009999-01-01",
    "2026-02-30",
    "09:30",
    "23:59",
    "24:00",
    "2026-05-14T10:07:42Z",
    "2026-05-14T10:07:42.123456789+02:00",
    "Mar to Sep",
    "Nov - Feb, Apr",
    "3-9",
    "all year",
    "Mon, Thu",
    "every day",
    "none",
];

const NUMBERS: [&str; 23] = [
    "1,234.50",
    "1.234,50 EUR",
    "€ 12",
    "JPY 100",
    "KWD 1.234",
    "8.875 %",
    "3.5 ×",
    "5.5",
    "14 cm",
    "1 yd",
    "12\"",
    "51 lb",
    "800 g",
    "-0",
    "−1",
    "1e5",
    "NaN",
    "0x10",
    "１２",
    "1'000",
    "9223372036854775808",
    "79228162514264337593543950335",
    "0.0000000000000000000000000001",
];

/// What each body starts from.
pub fn seeds(body: &str) -> Vec<Vec<u8>> {
    let texts = |texts: &[&str]| texts.iter().map(|text| text.as_bytes().to_vec()).collect();
    match body {
        "csv" => lists(),
        "sheet" => sheets(),
        "picture" => pictures(),
        "days" => texts(&DAYS),
        "numbers" => texts(&NUMBERS),
        _ => vec![
            whole_book_seed(&["trug", "studio", "supplier", "material"]),
            whole_book_seed(&["client", "event", "place", "piece"]),
            whole_book_seed(&["picture", "recipe", "recipe_line", "shift"]),
            b"# trug.csv\nformat,step\ntrug book files,99999\n".to_vec(),
            b"# picture.csv\nid,width,height,full,small\n1,2,3,../../etc/passwd,x.jpg\n# pictures/x.jpg\nx\n"
                .to_vec(),
        ],
    }
}

fn lists() -> Vec<Vec<u8>> {
    let marked = format!("\u{feff}{}", LIST.replace(',', ";"));
    let wide = [0xff, 0xfe].into_iter().chain(LIST.encode_utf16().flat_map(u16::to_le_bytes));
    vec![
        LIST.as_bytes().to_vec(),
        marked.into_bytes(),
        wide.collect(),
        b"material\tkind\nIvy\tfoliage\n".to_vec(),
    ]
}

fn sheets() -> Vec<Vec<u8>> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (row, line) in LIST.lines().take(2).enumerate() {
        for (column, cell) in line.split(',').enumerate() {
            sheet.write(u32::try_from(row).unwrap(), u16::try_from(column).unwrap(), cell).unwrap();
        }
    }
    let cells = "<worksheet><sheetData><row r=\"1\"><c r=\"A1\" t=\"s\"><v>0</v></c><c t=\"inlineStr\"><is><t>kind</t></is></c>\
        <c t=\"str\"><v>usual loss</v></c><c t=\"str\"><v>from</v></c></row><row r=\"4\"><c r=\"A4\" t=\"str\"><v>Rose_x000D_&amp;&#65;</v></c>\
        <c t=\"str\"><f>A1</f><v>flower</v></c><c s=\"1\"><v>0.05</v></c><c s=\"2\"><v>46146.5</v></c><c t=\"b\"><v>1</v></c>\
        <c t=\"d\"><v>2026-05-04T10:00:00</v></c></row></sheetData></worksheet>";
    let all = USUAL.iter().enumerate().map(|(at, (_, part))| if at == 0 { cells.as_bytes() } else { *part });
    let all: Vec<&[u8]> = all.collect();
    vec![book.save_to_buffer().unwrap(), cells.as_bytes().to_vec(), all.join(&CUT)]
}

fn pictures() -> Vec<Vec<u8>> {
    let picture = image::DynamicImage::ImageRgba8(image::RgbaImage::from_fn(24, 16, |x, y| {
        image::Rgba([u8::try_from(x * 9).unwrap(), u8::try_from(y * 9).unwrap(), 80, 200])
    }));
    let written = |picture: &image::DynamicImage, format| {
        let mut bytes = Cursor::new(Vec::new());
        picture.write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    };
    vec![
        written(&picture, image::ImageFormat::Png),
        written(&picture.to_rgb8().into(), image::ImageFormat::Jpeg),
        written(&picture, image::ImageFormat::WebP),
    ]
}

/// Tables of the demo.
fn whole_book_seed(tables: &[&str]) -> Vec<u8> {
    let demo = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let demo = if demo.ends_with("fuzz") { demo.join("../../src/demo") } else { demo.join("src/demo") };
    let mut seed = Vec::new();
    for table in tables {
        seed.extend_from_slice(format!("# {table}.csv\n").as_bytes());
        let file = std::fs::read_to_string(demo.join(format!("{table}.csv"))).unwrap();
        // A few lines of each: what is small is tried more often.
        seed.extend(file.lines().take(4).flat_map(|line| format!("{line}\n").into_bytes()));
    }
    seed
}
