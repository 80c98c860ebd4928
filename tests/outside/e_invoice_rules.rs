//! Business rules of EN 16931 as checks on a UBL document and on amounts, written from the rules' published texts (CEN/TC 434,
//! validation artefacts of EN 16931-1:2017; each is named by its number). Our own words and code; nothing is copied.

use roxmltree::{Document, Node};
use rust_decimal::Decimal;
use trug::accounts::countries::is_country;

/// One VAT breakdown, line, allowance or charge: category, rate, amount.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Part {
    pub(crate) category: String,
    pub(crate) rate: Decimal,
    pub(crate) amount: Decimal,
}

/// A VAT breakdown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Subtotal {
    pub(crate) part: Part,
    pub(crate) tax: Decimal,
}

/// The amounts of an invoice.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Amounts {
    pub(crate) lines: Vec<Part>,
    pub(crate) allowances: Vec<Part>,
    pub(crate) charges: Vec<Part>,
    pub(crate) subtotals: Vec<Subtotal>,
    pub(crate) line_total: Decimal,
    pub(crate) allowance_total: Decimal,
    pub(crate) charge_total: Decimal,
    pub(crate) without_tax: Decimal,
    pub(crate) tax: Decimal,
    pub(crate) with_tax: Decimal,
    pub(crate) prepaid: Decimal,
    pub(crate) payable: Decimal,
}

fn sum(parts: &[Part]) -> Decimal {
    parts.iter().map(|part| part.amount).sum()
}

/// Checks that collect the rules that are broken.
#[derive(Debug, Default)]
pub(crate) struct Broken(pub(crate) Vec<String>);

impl Broken {
    fn unless(&mut self, holds: bool, rule: &str) {
        if !holds {
            self.0.push(rule.to_owned());
        }
    }
}

/// The rules of arithmetic. `slack` is how far a rate's tax may be from base × rate (BR-CO-17, BR-S-09): nothing where a
/// document prints it so; the published checks allow less than one unit of the currency.
pub(crate) fn arithmetic(amounts: &Amounts, slack: Decimal) -> Broken {
    let mut broken = Broken::default();
    broken.unless(sum(&amounts.lines) == amounts.line_total, "BR-CO-10");
    broken.unless(sum(&amounts.allowances) == amounts.allowance_total, "BR-CO-11");
    broken.unless(sum(&amounts.charges) == amounts.charge_total, "BR-CO-12");
    let net = amounts.line_total - amounts.allowance_total + amounts.charge_total;
    broken.unless(net == amounts.without_tax, "BR-CO-13");
    let taxes: Decimal = amounts.subtotals.iter().map(|subtotal| subtotal.tax).sum();
    broken.unless(taxes == amounts.tax, "BR-CO-14");
    broken.unless(amounts.without_tax + amounts.tax == amounts.with_tax, "BR-CO-15");
    broken.unless(amounts.with_tax - amounts.prepaid == amounts.payable, "BR-CO-16");
    broken.unless(!amounts.subtotals.is_empty(), "BR-CO-18");
    for subtotal in &amounts.subtotals {
        let exact = subtotal.part.amount * subtotal.part.rate / Decimal::ONE_HUNDRED;
        let rounded = exact.round_dp_with_strategy(2, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
        broken.unless((subtotal.tax - rounded).abs() <= slack, "BR-CO-17");
        let half = Decimal::new(5, 1);
        broken.unless(
            subtotal.part.rate >= half || subtotal.tax.abs() < half,
            "BR-CO-17 as published: a rate that rounds to 0 has a tax that does",
        );
        broken.unless(
            base(amounts, &subtotal.part) == subtotal.part.amount,
            "BR-S-08, BR-Z-08, BR-E-08, BR-O-08",
        );
        let free = subtotal.part.category != "S";
        broken.unless(!free || subtotal.tax.is_zero(), "BR-Z-09, BR-E-09, BR-O-09");
    }
    let all = amounts.lines.iter().chain(&amounts.allowances).chain(&amounts.charges);
    let has = |part: &Part| amounts.subtotals.iter().any(|subtotal| same(&subtotal.part, part));
    broken.unless(all.clone().all(has), "BR-S-01, BR-Z-01, BR-E-01, BR-O-01");
    broken
}

fn same(one: &Part, other: &Part) -> bool {
    one.category == other.category && one.rate == other.rate
}

fn base(amounts: &Amounts, of: &Part) -> Decimal {
    let of_rate =
        |parts: &[Part]| parts.iter().filter(|part| same(part, of)).map(|part| part.amount).sum::<Decimal>();
    of_rate(&amounts.lines) + of_rate(&amounts.charges) - of_rate(&amounts.allowances)
}

/// A child element by its local name.
fn child<'a>(node: Node<'a, 'a>, name: &str) -> Option<Node<'a, 'a>> {
    node.children().find(|child| child.tag_name().name() == name)
}

/// The node at the end of a path of local names.
fn at<'a>(node: Node<'a, 'a>, path: &str) -> Option<Node<'a, 'a>> {
    path.split('/').try_fold(node, child)
}

fn text(node: Node, path: &str) -> String {
    at(node, path).and_then(|node| node.text()).unwrap_or_default().trim().to_owned()
}

fn number(node: Node, path: &str) -> Decimal {
    let text = text(node, path);
    if text.is_empty() { Decimal::ZERO } else { text.parse().unwrap() }
}

fn part(node: Node, category: &str, amount: &str) -> Part {
    Part {
        category: text(node, &format!("{category}/ID")),
        rate: number(node, &format!("{category}/Percent")),
        amount: number(node, amount),
    }
}

fn named<'a>(root: Node<'a, 'a>, name: &'a str) -> impl Iterator<Item = Node<'a, 'a>> + Clone {
    root.children().filter(move |child| child.tag_name().name() == name)
}

fn lines<'a>(root: Node<'a, 'a>) -> impl Iterator<Item = Node<'a, 'a>> + Clone {
    named(root, "InvoiceLine").chain(named(root, "CreditNoteLine"))
}

/// The amounts that a UBL document states.
pub(crate) fn amounts(xml: &str) -> Amounts {
    let document = Document::parse(xml).unwrap();
    let root = document.root_element();
    let beside = |charge: &str| -> Vec<Part> {
        let of_kind = named(root, "AllowanceCharge").filter(|node| text(*node, "ChargeIndicator") == charge);
        of_kind.map(|node| part(node, "TaxCategory", "Amount")).collect()
    };
    let tax = at(root, "TaxTotal").unwrap();
    let totals = at(root, "LegalMonetaryTotal").unwrap();
    let subtotal =
        |node| Subtotal { part: part(node, "TaxCategory", "TaxableAmount"), tax: number(node, "TaxAmount") };
    Amounts {
        lines: lines(root)
            .map(|line| part(line, "Item", "LineExtensionAmount"))
            .zip(lines(root))
            .map(classified)
            .collect(),
        allowances: beside("false"),
        charges: beside("true"),
        subtotals: named(tax, "TaxSubtotal").map(subtotal).collect(),
        line_total: number(totals, "LineExtensionAmount"),
        allowance_total: number(totals, "AllowanceTotalAmount"),
        charge_total: number(totals, "ChargeTotalAmount"),
        without_tax: number(totals, "TaxExclusiveAmount"),
        tax: number(tax, "TaxAmount"),
        with_tax: number(totals, "TaxInclusiveAmount"),
        prepaid: number(totals, "PrepaidAmount"),
        payable: number(totals, "PayableAmount"),
    }
}

fn classified((part, line): (Part, Node)) -> Part {
    Part {
        category: text(line, "Item/ClassifiedTaxCategory/ID"),
        rate: number(line, "Item/ClassifiedTaxCategory/Percent"),
        ..part
    }
}

/// The rules about what stands in a document, and how it is written.
pub(crate) fn presence(xml: &str) -> Broken {
    let document = Document::parse(xml).unwrap();
    let root = document.root_element();
    let mut broken = Broken::default();
    let credit = root.tag_name().name() == "CreditNote";
    for (path, rule) in [
        ("CustomizationID", "BR-01"),
        ("ID", "BR-02"),
        ("IssueDate", "BR-03"),
        (if credit { "CreditNoteTypeCode" } else { "InvoiceTypeCode" }, "BR-04"),
        ("DocumentCurrencyCode", "BR-05"),
        ("AccountingSupplierParty/Party/PartyLegalEntity/RegistrationName", "BR-06"),
        ("AccountingCustomerParty/Party/PartyLegalEntity/RegistrationName", "BR-07"),
        ("AccountingSupplierParty/Party/PostalAddress/Country/IdentificationCode", "BR-08, BR-09"),
        ("AccountingCustomerParty/Party/PostalAddress/Country/IdentificationCode", "BR-10, BR-11"),
        ("LegalMonetaryTotal/LineExtensionAmount", "BR-12"),
        ("LegalMonetaryTotal/TaxExclusiveAmount", "BR-13"),
        ("LegalMonetaryTotal/TaxInclusiveAmount", "BR-14"),
        ("LegalMonetaryTotal/PayableAmount", "BR-15"),
    ] {
        broken.unless(!text(root, path).is_empty(), rule);
    }
    broken.unless(lines(root).next().is_some(), "BR-16");
    for line in lines(root) {
        of_line(&mut broken, line);
    }
    for beside in named(root, "AllowanceCharge") {
        broken.unless(number(beside, "Amount") >= Decimal::ZERO, "an allowance or charge below nothing");
        broken.unless(!text(beside, "AllowanceChargeReason").is_empty(), "BR-33, BR-38");
        broken.unless(!text(beside, "TaxCategory/ID").is_empty(), "BR-32, BR-37");
    }
    let due = !text(root, "DueDate").is_empty() || !text(root, "PaymentTerms/Note").is_empty();
    broken.unless(due || number(root, "LegalMonetaryTotal/PayableAmount") <= Decimal::ZERO, "BR-CO-25");
    let credited = text(root, "BillingReference/InvoiceDocumentReference/ID");
    broken.unless(at(root, "BillingReference").is_none() || !credited.is_empty(), "BR-55");
    let transfer = matches!(text(root, "PaymentMeans/PaymentMeansCode").as_str(), "30" | "58");
    broken
        .unless(!transfer || !text(root, "PaymentMeans/PayeeFinancialAccount/ID").is_empty(), "BR-50, BR-61");
    identified(&mut broken, root);
    categories(&mut broken, root);
    written(&mut broken, root);
    broken
}

fn of_line(broken: &mut Broken, line: Node) {
    let quantity = at(line, "InvoicedQuantity").or_else(|| at(line, "CreditedQuantity"));
    broken.unless(!text(line, "ID").is_empty(), "BR-21");
    broken.unless(quantity.is_some(), "BR-22");
    let unit = quantity.and_then(|node| node.attribute("unitCode")).unwrap_or_default();
    broken.unless(matches!(unit, "C62" | "H87"), "BR-23, BR-CL-23");
    broken.unless(at(line, "LineExtensionAmount").is_some(), "BR-24");
    broken.unless(!text(line, "Item/Name").is_empty(), "BR-25");
    broken.unless(at(line, "Price/PriceAmount").is_some(), "BR-26");
    broken.unless(number(line, "Price/PriceAmount") >= Decimal::ZERO, "BR-27");
    broken.unless(!text(line, "Item/ClassifiedTaxCategory/ID").is_empty(), "BR-CO-04");
    // BT-131: quantity × price ÷ base quantity, less the line's allowances, to two decimals.
    let count: Decimal = quantity.and_then(|node| node.text()).unwrap_or("0").parse().unwrap();
    let per = number(line, "Price/BaseQuantity");
    let per = if per.is_zero() { Decimal::ONE } else { per };
    let off: Decimal = named(line, "AllowanceCharge").map(|node| number(node, "Amount")).sum();
    let amount = count * number(line, "Price/PriceAmount") / per - off;
    broken.unless(amount == number(line, "LineExtensionAmount"), "the line's net amount (BT-131)");
}

fn identified(broken: &mut Broken, root: Node) {
    let seller = at(root, "AccountingSupplierParty/Party").unwrap();
    let vat = |party: Node| {
        let mut schemes = named(party, "PartyTaxScheme").filter(|node| text(*node, "TaxScheme/ID") == "VAT");
        schemes.next().map(|node| text(node, "CompanyID"))
    };
    let own = [text(seller, "PartyIdentification/ID"), text(seller, "PartyLegalEntity/CompanyID")];
    broken.unless(vat(seller).is_some() || own.iter().any(|id| !id.is_empty()), "BR-CO-26");
    let numbers = [vat(seller), at(root, "AccountingCustomerParty/Party").and_then(vat)];
    for number in numbers.into_iter().flatten() {
        let prefix = number.get(..2).unwrap_or_default();
        broken.unless(prefix == "EL" || is_country(prefix), "BR-CO-09");
    }
    let codes = root.descendants().filter(|node| node.tag_name().name() == "ID");
    let taxed = codes
        .clone()
        .filter(|node| node.parent().is_some_and(|parent| parent.tag_name().name().ends_with("TaxCategory")));
    let has = |code: &str| taxed.clone().any(|node| node.text() == Some(code));
    let registered = at(seller, "PartyTaxScheme").is_some();
    broken.unless(registered || !(has("S") || has("Z") || has("E")), "BR-S-02, BR-Z-02, BR-E-02");
    broken.unless(vat(seller).is_none() || !has("O"), "BR-O-02");
    broken.unless(!has("O") || !(has("S") || has("Z") || has("E")), "BR-O-11, BR-O-12");
    for party in root.descendants().filter(|node| node.tag_name().name() == "EndpointID") {
        broken.unless(party.attribute("schemeID").is_some(), "BR-62, BR-63");
    }
    for country in root.descendants().filter(|node| node.tag_name().name() == "IdentificationCode") {
        broken.unless(is_country(country.text().unwrap_or_default()), "BR-CL-14");
    }
}

fn categories(broken: &mut Broken, root: Node) {
    let all = root.descendants().filter(|node| node.tag_name().name().ends_with("TaxCategory"));
    for node in all {
        let (code, rate) = (text(node, "ID"), at(node, "Percent").map(|_| number(node, "Percent")));
        let reason = !text(node, "TaxExemptionReason").is_empty();
        let breakdown = node.parent().is_some_and(|parent| parent.tag_name().name() == "TaxSubtotal");
        broken.unless(text(node, "TaxScheme/ID") == "VAT", "a category of another tax than VAT");
        match code.as_str() {
            "S" => {
                broken.unless(rate.is_some_and(|rate| rate > Decimal::ZERO), "BR-S-05, BR-S-06, BR-S-07");
                broken.unless(!reason, "BR-S-10");
            }
            "Z" => {
                broken.unless(rate == Some(Decimal::ZERO), "BR-Z-05, BR-Z-06, BR-Z-07");
                broken.unless(!reason, "BR-Z-10");
            }
            "E" => {
                broken.unless(rate == Some(Decimal::ZERO), "BR-E-05, BR-E-06, BR-E-07");
                broken.unless(reason || !breakdown, "BR-E-10");
            }
            "O" => {
                broken.unless(rate.is_none(), "BR-O-05, BR-O-06, BR-O-07");
                broken.unless(reason || !breakdown, "BR-O-10");
            }
            _ => broken.unless(false, "BR-CL-17, BR-CL-18"),
        }
    }
}

/// How amounts and texts are written: at most two decimals (BR-DEC), one currency, no element without content (UBL).
fn written(broken: &mut Broken, root: Node) {
    let currency = text(root, "DocumentCurrencyCode");
    for node in root.descendants().filter(Node::is_element) {
        let name = node.tag_name().name();
        if name.ends_with("Amount") {
            let decimals =
                node.text().unwrap_or_default().split_once('.').map_or(0, |(_, decimals)| decimals.len());
            broken.unless(decimals <= 2, "BR-DEC");
            broken.unless(
                node.attribute("currencyID") == Some(currency.as_str()),
                "an amount in another currency",
            );
        }
        let empty = !node.children().any(|child| child.is_element())
            && node.text().unwrap_or_default().trim().is_empty();
        broken.unless(!empty, "an element without content");
    }
}
