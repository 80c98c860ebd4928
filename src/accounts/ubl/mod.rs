//! E-invoices: a document as UBL 2.1 under EN 16931 (invoice 380, credit note 381).
//!
//! Every amount is one that the document prints. Prices that include tax stand in it without: a line's price is its net
//! amount for its whole count (BT-146 with BT-149). Where tax is taken out of a sum (a part of the whole, prices that
//! include it, what is left after earlier invoices) a rate's tax may be a minor unit beside taxable amount × rate; the
//! published check of BR-CO-17 allows less than one unit of the currency, and a cent beside is taken only where no taxable
//! amount comes to the sum exactly.
//!
//! Sources: EN 16931-1:2017 with CEN/TS 16931-3-2 (UBL syntax), business rules as CEN/TC 434 publishes them; code lists
//! UNCL 1001 (380, 381), UNCL 5305, UNCL 4461 (30), UN/ECE Recommendation 20 (C62 one, H87 piece), ISO 3166-1, ISO 4217.
//!
//! May import: `rust_decimal`, plain values, the room's own documents.

pub mod missing;
pub mod xml;

use rust_decimal::Decimal;

use self::missing::{Missing, missing};
use self::xml::Writer;
use super::Terms;
use super::countries::is_country;
use super::document::{Beside, Category, Document, Kind, Line, Party};
use crate::ground::money::Money;
use crate::ground::quantity::Share;

const INVOICE: &str = "urn:oasis:names:specification:ubl:schema:xsd:Invoice-2";
const CREDIT_NOTE: &str = "urn:oasis:names:specification:ubl:schema:xsd:CreditNote-2";
const AGGREGATES: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonAggregateComponents-2";
const BASICS: &str = "urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2";
/// BT-24: the core of the standard, no extension.
const SPECIFICATION: &str = "urn:cen.eu:en16931:2017";

/// One VAT category and rate of a document (BG-23).
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rate {
    /// The rate's name, for messages.
    pub name: String,
    /// Its category, if known.
    pub category: Option<Category>,
    /// How much.
    pub rate: Share,
    /// Why it is exempt.
    pub reason: String,
    /// The places of its parts among the document's taxes.
    places: Vec<usize>,
}

/// The document with what is known today of what it did not say when it was made: countries, numbers, categories. Nothing
/// that it did say is changed.
#[must_use]
pub fn completed(mut document: Document, seller: &Party, buyer: &Party, terms: &Terms) -> Document {
    complete(&mut document.seller, seller);
    complete(&mut document.buyer, buyer);
    for tax in &mut document.figures.taxes {
        let said = tax.id.and_then(|id| terms.treatment(id));
        if tax.category.is_none() {
            tax.category = said.map(|said| said.category);
        }
        if tax.reason.is_empty() {
            tax.reason = said.map(|said| said.reason.clone()).unwrap_or_default();
        }
        if tax.category.is_none() && tax.rate > Share::default() {
            tax.category = Some(Category::Standard);
        }
    }
    document
}

fn complete(party: &mut Party, now: &Party) {
    let pairs = [
        (&mut party.country, &now.country),
        (&mut party.tax_number, &now.tax_number),
        (&mut party.legal_id, &now.legal_id),
    ];
    for (then, now) in pairs {
        if then.is_empty() {
            then.clone_from(now);
        }
    }
}

/// The document as UBL 2.1, or everything that is missing for it.
///
/// # Errors
/// What an e-invoice needs and the document lacks.
pub fn ubl(document: &Document, decimals: u32) -> Result<String, Vec<Missing>> {
    let rates = rates(document);
    let lacking = missing(document, &rates, decimals);
    if !lacking.is_empty() {
        return Err(lacking);
    }
    let writing = Writing { document, rates: &rates, decimals };
    Ok(writing.written())
}

/// The document's categories and rates; taxes of the same category and rate are one (BR-Z-01, BR-E-01).
fn rates(document: &Document) -> Vec<Rate> {
    let mut rates: Vec<Rate> = Vec::new();
    for (place, tax) in document.figures.taxes.iter().enumerate() {
        match rates.iter_mut().find(|rate| rate.category == tax.category && rate.rate == tax.rate) {
            Some(rate) => rate.places.push(place),
            None => rates.push(Rate {
                name: tax.name.clone(),
                category: tax.category,
                rate: tax.rate,
                reason: tax.reason.clone(),
                places: vec![place],
            }),
        }
    }
    rates
}

/// Whether a tax number is a VAT number with its country in front (BR-CO-09; Greece writes EL, Northern Ireland XI).
#[must_use]
pub fn is_vat_number(number: &str) -> bool {
    let prefix: String = number.trim().chars().take(2).collect::<String>().to_uppercase();
    (matches!(prefix.as_str(), "EL" | "XI") || is_country(&prefix))
        && number.chars().any(|c| c.is_ascii_digit())
}

struct Writing<'a> {
    document: &'a Document,
    rates: &'a [Rate],
    decimals: u32,
}

impl Writing<'_> {
    fn is_credit(&self) -> bool {
        self.document.kind == Kind::Credit
    }

    fn written(&self) -> String {
        let (root, namespace) =
            if self.is_credit() { ("CreditNote", CREDIT_NOTE) } else { ("Invoice", INVOICE) };
        let spaces = [("xmlns", namespace), ("xmlns:cac", AGGREGATES), ("xmlns:cbc", BASICS)];
        let mut writer = Writer::new();
        writer.within(root, &spaces, |w| {
            self.head(w);
            self.party(w, "cac:AccountingSupplierParty", &self.document.seller, true);
            self.party(w, "cac:AccountingCustomerParty", &self.document.buyer, false);
            self.payment(w);
            self.besides(w);
            self.taxes(w);
            self.totals(w);
            for (place, line) in self.document.figures.lines.iter().enumerate() {
                self.line(w, place, line);
            }
        });
        writer.done()
    }

    fn head(&self, w: &mut Writer) {
        let document = self.document;
        w.text("cbc:CustomizationID", &[], SPECIFICATION);
        w.text("cbc:ID", &[], &document.number);
        w.text("cbc:IssueDate", &[], &document.issued_on.to_string());
        if self.is_credit() {
            w.text("cbc:CreditNoteTypeCode", &[], "381");
        } else {
            w.text("cbc:DueDate", &[], &document.due_on.to_string());
            w.text("cbc:InvoiceTypeCode", &[], "380");
        }
        w.text_if("cbc:Note", &self.note());
        w.text("cbc:DocumentCurrencyCode", &[], &document.currency);
        w.text_if("cbc:BuyerReference", &document.buyer.reference);
        if let Some(credited) = &document.credits {
            w.within("cac:BillingReference", &[], |w| {
                w.within("cac:InvoiceDocumentReference", &[], |w| {
                    w.text("cbc:ID", &[], &credited.number);
                    w.text("cbc:IssueDate", &[], &credited.issued_on.to_string());
                });
            });
        }
    }

    /// What it is about, for which event, and the words under it.
    fn note(&self) -> String {
        let document = self.document;
        let event = document.event.as_ref().map(|event| format!("{}, {}", event.name, event.day));
        let said = [document.about.clone(), event.unwrap_or_default(), document.words.clone()];
        said.into_iter().filter(|words| !words.trim().is_empty()).collect::<Vec<_>>().join("; ")
    }

    fn party(&self, w: &mut Writer, role: &str, party: &Party, seller: bool) {
        // An invoice outside the tax names no VAT number (BR-O-02).
        let outside = self.rates.iter().any(|rate| rate.category == Some(Category::Outside));
        let number = party.tax_number.split_whitespace().collect::<String>();
        let vat = is_vat_number(&number) && !outside;
        let national = !number.is_empty() && !is_vat_number(&number);
        w.within(role, &[], |w| {
            w.within("cac:Party", &[], |w| {
                if party.email.contains('@') {
                    w.text("cbc:EndpointID", &[("schemeID", "EM")], party.email.trim());
                }
                // One of the seller's numbers identifies it (BR-CO-26); a national tax number does not by itself.
                if seller && national && party.legal_id.trim().is_empty() {
                    w.within("cac:PartyIdentification", &[], |w| w.text("cbc:ID", &[], &number));
                }
                w.within("cac:PartyName", &[], |w| w.text("cbc:Name", &[], &party.name));
                address(w, party);
                if vat {
                    tax_scheme(w, &number, "VAT");
                } else if seller && national && !outside {
                    tax_scheme(w, &number, "TAX");
                }
                w.within("cac:PartyLegalEntity", &[], |w| {
                    w.text("cbc:RegistrationName", &[], &party.name);
                    w.text_if("cbc:CompanyID", &party.legal_id);
                });
                if !(party.phone.trim().is_empty() && party.email.trim().is_empty()) {
                    w.within("cac:Contact", &[], |w| {
                        w.text_if("cbc:Telephone", &party.phone);
                        w.text_if("cbc:ElectronicMail", &party.email);
                    });
                }
            });
        });
    }

    fn payment(&self, w: &mut Writer) {
        let (document, bank) = (self.document, &self.document.bank);
        if !self.is_credit() && !bank.iban.is_empty() {
            w.within("cac:PaymentMeans", &[], |w| {
                w.text("cbc:PaymentMeansCode", &[], "30");
                w.text("cbc:PaymentID", &[], &document.number);
                w.within("cac:PayeeFinancialAccount", &[], |w| {
                    w.text("cbc:ID", &[], &bank.iban);
                    w.text_if("cbc:Name", &bank.holder);
                    if !bank.bic.is_empty() {
                        w.within("cac:FinancialInstitutionBranch", &[], |w| w.text("cbc:ID", &[], &bank.bic));
                    }
                });
            });
        }
        let terms = if self.is_credit() {
            "Set against what is owed, or given back.".to_owned()
        } else {
            format!("To be paid by {}.", document.due_on)
        };
        w.within("cac:PaymentTerms", &[], |w| w.text("cbc:Note", &[], &terms));
    }

    fn besides(&self, w: &mut Writer) {
        let figures = &self.document.figures;
        let all = figures
            .off
            .iter()
            .map(|off| (false, off))
            .chain(figures.charges.iter().map(|charge| (true, charge)));
        for (charge, beside) in all.filter(|(_, beside)| !beside.net.is_zero()) {
            self.beside(w, charge, beside);
        }
    }

    fn beside(&self, w: &mut Writer, charge: bool, beside: &Beside) {
        w.within("cac:AllowanceCharge", &[], |w| {
            w.text("cbc:ChargeIndicator", &[], if charge { "true" } else { "false" });
            w.text("cbc:AllowanceChargeReason", &[], &beside.what);
            self.amount(w, "cbc:Amount", beside.net);
            self.category(w, "cac:TaxCategory", beside.tax, false);
        });
    }

    fn taxes(&self, w: &mut Writer) {
        let figures = &self.document.figures;
        w.within("cac:TaxTotal", &[], |w| {
            self.amount(w, "cbc:TaxAmount", figures.tax);
            for rate in self.rates {
                let parts = || rate.places.iter().filter_map(|place| figures.taxes.get(*place));
                w.within("cac:TaxSubtotal", &[], |w| {
                    self.amount(w, "cbc:TaxableAmount", parts().map(|part| part.net).sum());
                    self.amount(w, "cbc:TaxAmount", parts().map(|part| part.amount).sum());
                    self.category(
                        w,
                        "cac:TaxCategory",
                        rate.places.first().copied().unwrap_or_default(),
                        true,
                    );
                });
            }
        });
    }

    fn totals(&self, w: &mut Writer) {
        let figures = &self.document.figures;
        let net = |besides: &[Beside]| besides.iter().map(|beside| beside.net).sum::<Money>();
        let (off, charges) = (net(&figures.off), net(&figures.charges));
        w.within("cac:LegalMonetaryTotal", &[], |w| {
            self.amount(w, "cbc:LineExtensionAmount", figures.lines.iter().map(|line| line.net).sum());
            self.amount(w, "cbc:TaxExclusiveAmount", figures.before_tax);
            self.amount(w, "cbc:TaxInclusiveAmount", figures.total);
            if !off.is_zero() {
                self.amount(w, "cbc:AllowanceTotalAmount", off);
            }
            if !charges.is_zero() {
                self.amount(w, "cbc:ChargeTotalAmount", charges);
            }
            self.amount(w, "cbc:PayableAmount", figures.total);
        });
    }

    fn line(&self, w: &mut Writer, place: usize, line: &Line) {
        let credit = self.is_credit();
        let (name, quantity) = if credit {
            ("cac:CreditNoteLine", "cbc:CreditedQuantity")
        } else {
            ("cac:InvoiceLine", "cbc:InvoicedQuantity")
        };
        // A price is never below nothing (BR-27): what is deducted has a quantity below nothing.
        let count = if (line.net < Money::ZERO) == (line.count < 0) { line.count } else { -line.count };
        let with_tax = self.document.figures.inclusive;
        w.within(name, &[], |w| {
            w.text("cbc:ID", &[], &(place + 1).to_string());
            w.text(quantity, &[("unitCode", unit(line))], &count.to_string());
            self.amount(w, "cbc:LineExtensionAmount", line.net);
            if !with_tax && !line.discount.is_zero() {
                w.within("cac:AllowanceCharge", &[], |w| {
                    w.text("cbc:ChargeIndicator", &[], "false");
                    w.text("cbc:AllowanceChargeReason", &[], "Discount");
                    self.amount(w, "cbc:Amount", line.discount);
                });
            }
            w.within("cac:Item", &[], |w| {
                w.text_if("cbc:Description", &line.words);
                w.text("cbc:Name", &[], &line.name);
                self.category(w, "cac:ClassifiedTaxCategory", line.tax, false);
            });
            w.within("cac:Price", &[], |w| {
                let net = if line.net < Money::ZERO { -line.net } else { line.net };
                self.amount(w, "cbc:PriceAmount", if with_tax { net } else { line.price });
                if with_tax && count.abs() != 1 {
                    w.text("cbc:BaseQuantity", &[("unitCode", unit(line))], &count.abs().to_string());
                }
            });
        });
    }

    fn category(&self, w: &mut Writer, name: &str, tax: usize, explained: bool) {
        let Some(rate) = self.rates.iter().find(|rate| rate.places.contains(&tax)) else { return };
        let category = rate.category.unwrap_or(Category::Standard);
        w.within(name, &[], |w| {
            w.text("cbc:ID", &[], code(category));
            if category != Category::Outside {
                w.text("cbc:Percent", &[], &Decimal::new(rate.rate.raw(), 4).normalize().to_string());
            }
            if explained {
                w.text_if("cbc:TaxExemptionReason", reason(rate, category));
            }
            w.within("cac:TaxScheme", &[], |w| w.text("cbc:ID", &[], "VAT"));
        });
    }

    fn amount(&self, w: &mut Writer, name: &str, amount: Money) {
        let text = Decimal::new(amount.minor(), self.decimals).to_string();
        w.text(name, &[("currencyID", &self.document.currency)], &text);
    }
}

fn code(category: Category) -> &'static str {
    crate::ground::choice::Choice::code(category)
}

/// Why nothing is charged: only an exempt or untaxed rate says so (BR-E-10, BR-O-10, BR-S-10, BR-Z-10).
fn reason(rate: &Rate, category: Category) -> &str {
    match category {
        Category::Standard | Category::ZeroRated => "",
        Category::Outside if rate.reason.trim().is_empty() => "Not subject to VAT",
        Category::Exempt | Category::Outside => &rate.reason,
    }
}

fn unit(line: &Line) -> &'static str {
    let counted = line.count > 1 || (line.count == 1 && !line.group.is_empty());
    if counted { "H87" } else { "C62" }
}

/// A postal address of several lines: the last is the town where there is more than one.
fn address(w: &mut Writer, party: &Party) {
    let mut lines: Vec<&str> = party.address.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    let town = if lines.len() > 1 { lines.pop() } else { None };
    w.within("cac:PostalAddress", &[], |w| {
        w.text_if("cbc:StreetName", lines.first().copied().unwrap_or_default());
        w.text_if("cbc:AdditionalStreetName", lines.get(1).copied().unwrap_or_default());
        w.text_if("cbc:CityName", town.unwrap_or_default());
        let more = lines.iter().skip(2).copied().collect::<Vec<_>>().join(", ");
        if !more.is_empty() {
            w.within("cac:AddressLine", &[], |w| w.text("cbc:Line", &[], &more));
        }
        w.within("cac:Country", &[], |w| w.text("cbc:IdentificationCode", &[], &party.country));
    });
}

fn tax_scheme(w: &mut Writer, number: &str, scheme: &str) {
    w.within("cac:PartyTaxScheme", &[], |w| {
        w.text("cbc:CompanyID", &[], number);
        w.within("cac:TaxScheme", &[], |w| w.text("cbc:ID", &[], scheme));
    });
}
