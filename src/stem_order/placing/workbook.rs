//! A placed order as a spreadsheet file (Office Open XML): the table's rows with their types, so that counts, days and
//! amounts can be reckoned with, and their sum.
//!
//! May import `ground`, the workbook writer, and the room's own table.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Formula, Workbook, Worksheet, XlsxError};

use super::PlacedOrder;
use super::table::{Cell, HEADS, heads, rows};
use crate::ground::dates::Day;
use crate::ground::formats::Formats;
use crate::ground::money::Money;

/// Widths of the columns, in letters.
const WIDTHS: [f64; 15] =
    [7.0, 11.0, 24.0, 12.0, 11.0, 16.0, 30.0, 18.0, 10.0, 9.0, 7.0, 7.0, 6.0, 17.0, 14.0];

/// The format's code of A4 paper.
const A4: u8 = 9;
/// The format's code of US Letter paper.
const LETTER: u8 = 1;

/// The order as a workbook of one sheet. `letter` chooses the paper it prints on.
///
/// # Errors
/// What the writer cannot write: a sheet beyond the format's limits, which no order reaches.
pub(super) fn workbook(order: &PlacedOrder, formats: Formats, letter: bool) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // The file is the same whenever it is made.
    let made = date(order.placed_on)?;
    workbook.set_properties(
        &DocProperties::new().set_title(format!("Order {}", order.number)).set_creation_datetime(&made),
    );
    let sheet = workbook.add_worksheet();
    sheet.set_name(format!("Order {}", order.number))?;
    sheet.set_landscape().set_paper_size(if letter { LETTER } else { A4 }).set_print_fit_to_pages(1, 0);
    sheet.set_repeat_rows(0, 0)?.set_freeze_panes(1, 0)?;
    for (column, width) in (0..).zip(WIDTHS) {
        sheet.set_column_width(column, width)?;
    }
    let bold = Format::new().set_bold();
    for (column, head) in (0..).zip(heads(formats)) {
        sheet.write_string_with_format(0, column, head, &bold)?;
    }
    let mut row = 1;
    for cells in rows(order) {
        for (column, cell) in (0..).zip(cells) {
            write(sheet, (row, column), &cell, formats)?;
        }
        row += 1;
    }
    sum(sheet, row, order.total(), formats)?;
    workbook.save_to_buffer()
}

fn write(sheet: &mut Worksheet, at: (u32, u16), cell: &Cell, formats: Formats) -> Result<(), XlsxError> {
    let (row, column) = at;
    match cell {
        Cell::Text(text) => sheet.write_string(row, column, text)?,
        Cell::Count(count) => {
            sheet.write_number(row, column, Decimal::from(*count).to_f64().unwrap_or_default())?
        }
        Cell::Day(day) => {
            let format = Format::new().set_num_format("yyyy-mm-dd");
            sheet.write_datetime_with_format(row, column, date(*day)?, &format)?
        }
        Cell::Money(amount) => {
            sheet.write_number_with_format(row, column, major(*amount, formats), &money_format(formats))?
        }
        Cell::Empty => sheet,
    };
    Ok(())
}

/// The sum below the amounts, as a formula with its result.
fn sum(sheet: &mut Worksheet, row: u32, total: Money, formats: Formats) -> Result<(), XlsxError> {
    let column = u16::try_from(HEADS.len() + 1).unwrap_or(u16::MAX);
    let bold = Format::new().set_bold();
    sheet.write_string_with_format(row, 0, "Sum", &bold)?;
    let formula = Formula::new(format!("=SUM(O2:O{row})")).set_result(formats.money_input(total));
    sheet.write_formula_with_format(row, column, formula, &money_format(formats).set_bold())?;
    Ok(())
}

fn date(day: Day) -> Result<ExcelDateTime, XlsxError> {
    let (year, month, day) = (day.0.year(), day.0.month(), day.0.day());
    ExcelDateTime::from_ymd(
        u16::try_from(year).unwrap_or(1900),
        u8::try_from(month).unwrap_or(1),
        u8::try_from(day).unwrap_or(1),
    )
}

/// The nearest number a spreadsheet can hold.
fn major(amount: Money, formats: Formats) -> f64 {
    Decimal::new(amount.minor(), formats.minor_digits()).to_f64().unwrap_or_default()
}

/// As many decimals as the currency has.
fn money_format(formats: Formats) -> Format {
    let decimals = match formats.minor_digits() {
        0 => "#,##0".to_owned(),
        digits => format!("#,##0.{}", "0".repeat(usize::try_from(digits).unwrap_or(2))),
    };
    Format::new().set_num_format(decimals)
}

#[cfg(test)]
mod tests {
    use std::io::{Cursor, Read};

    use super::*;
    use crate::stem_order::samples::{placed_line, placed_order};
    use crate::studio::Studio;

    /// A part of the file, as text.
    fn part(file: &[u8], name: &str) -> String {
        let mut archive = zip::ZipArchive::new(Cursor::new(file)).unwrap();
        let mut text = String::new();
        archive.by_name(name).unwrap().read_to_string(&mut text).unwrap();
        text
    }

    /// Type, style and value of a cell in the sheet's XML: `("s", "", "6")` for the seventh shared text.
    fn cell(sheet: &str, at: &str) -> (String, bool, String) {
        let open = format!("<c r=\"{at}\"");
        let from = sheet.find(&open).unwrap_or_else(|| panic!("no {at} in {sheet}"));
        let whole = &sheet[from..from + sheet[from..].find("</c>").unwrap()];
        let attribute = |name: &str| {
            let start = whole.find(&format!(" {name}=\""))? + name.len() + 3;
            Some(whole[start..start + whole[start..].find('"')?].to_owned())
        };
        let value = &whole[whole.find("<v>").unwrap() + 3..whole.find("</v>").unwrap()];
        (attribute("t").unwrap_or_default(), attribute("s").is_some(), value.to_owned())
    }

    #[test]
    fn counts_days_and_amounts_keep_their_types() {
        let order = placed_order(vec![placed_line(10, &[(1, 60)])]);
        let formats = Studio::new_book().formats;
        let file = workbook(&order, formats, false).unwrap();
        let sheet = part(&file, "xl/worksheets/sheet1.xml");
        let number = |value: &str| (String::new(), false, value.to_owned());
        let styled = |value: &str| (String::new(), true, value.to_owned());
        assert_eq!(cell(&sheet, "A2"), number("12"));
        // Days since the last of 1899, as spreadsheets count: 14 May 2026 is day 46156.
        assert_eq!(cell(&sheet, "E2"), styled("46156"));
        assert_eq!(cell(&sheet, "G2").0, "s");
        assert_eq!((cell(&sheet, "K2"), cell(&sheet, "L2")), (number("10"), number("100")));
        assert_eq!((cell(&sheet, "N2"), cell(&sheet, "O2")), (styled("5"), styled("50")));
        assert_eq!(cell(&sheet, "O3"), styled("15"));
        assert!(sheet.contains("<f>SUM(O2:O3)</f><v>65.00</v>"), "{sheet}");
        assert!(
            part(&file, "xl/styles.xml").contains("formatCode=\"#,##0.00\"")
                || part(&file, "xl/styles.xml").contains("numFmtId=\"4\"")
        );
        assert!(part(&file, "xl/sharedStrings.xml").contains("<t>Alder Wholesale</t>"));
        assert_eq!(file, workbook(&order, formats, false).unwrap(), "the same order, the same file");
    }

    #[test]
    fn a_text_that_looks_like_a_formula_stays_a_text() {
        let mut order = placed_order(vec![placed_line(1, &[(1, 1)])]);
        order.deliveries[0].lines[0].name = "=1+2".into();
        let file = workbook(&order, Studio::new_book().formats, true).unwrap();
        assert_eq!(cell(&part(&file, "xl/worksheets/sheet1.xml"), "G2").0, "s");
        assert!(part(&file, "xl/sharedStrings.xml").contains("<t>=1+2</t>"));
    }
}
