//! What a file says of suppliers and materials.

use super::super::super::MaterialKind;
use super::super::super::file::columns::{COLUMNS, Subject, place};
use super::super::super::file::key;
use super::super::material::MaterialForm;
use super::super::supplier::SupplierForm;
use super::cells::{into_material, into_supplier, said};
use super::plan::{Gathered, Planner, provisional};
use crate::ground::choice::Choice;
use crate::ground::formats::clipped;
use crate::ground::ids::{MaterialId, SupplierId};

impl Planner<'_> {
    /// Suppliers, new and known.
    pub(super) fn suppliers(&mut self) {
        for (key, gathered) in self.gather(Subject::Supplier) {
            self.supplier(key, &gathered);
        }
    }

    fn supplier(&mut self, key: String, gathered: &Gathered) {
        let known = self.known.suppliers.get(&key);
        let old = known.map(|(_, supplier)| SupplierForm::of_new(supplier, self.formats));
        let blank = || SupplierForm { name: gathered.name.clone(), ..SupplierForm::blank() };
        let mut form = old.clone().unwrap_or_else(blank);
        for (column, cell, line) in &gathered.cells {
            if let Err(message) = into_supplier(&mut form, &COLUMNS[*column], cell) {
                self.refuse_cell(*line, *column, &message);
            }
        }
        let id = known.map_or(SupplierId(provisional(self.supplier_ids.len())), |(id, _)| *id);
        self.supplier_ids.insert(key, id);
        let new = match form.parse(self.formats) {
            Ok(new) => new,
            Err(errors) => return self.refuse_form(Subject::Supplier, gathered, &errors),
        };
        match (known, old) {
            (Some((_, now)), Some(old)) if *now != new => {
                let differences = SupplierForm::of_new(&new, self.formats).differences(&old);
                self.report_changes(gathered.first, differences);
                self.writes.changed_suppliers.push((id, new));
            }
            (None, _) => {
                self.report_new(gathered.first, "New supplier");
                self.writes.new_suppliers.push((id, new));
            }
            _ => {}
        }
    }

    /// Materials, new and known.
    pub(super) fn materials(&mut self) {
        for (key, gathered) in self.gather(Subject::Material) {
            self.material(key, &gathered);
        }
    }

    fn material(&mut self, key: String, gathered: &Gathered) {
        let known = self.known.materials.get(&key);
        let old = known.map(|(_, material)| MaterialForm::of_new(material, self.formats));
        let blank =
            || MaterialForm { name: gathered.name.clone(), unit: String::new(), ..MaterialForm::blank() };
        let mut form = old.clone().unwrap_or_else(blank);
        self.fill_material(&mut form, gathered);
        if known.is_none() {
            self.complete_new_material(&mut form, gathered);
        }
        let id = known.map_or(MaterialId(provisional(self.material_ids.len())), |(id, _)| *id);
        self.material_ids.insert(key, id);
        let new = match form.parse(self.formats) {
            Ok(new) => new,
            Err(errors) => return self.refuse_form(Subject::Material, gathered, &errors),
        };
        match (known, old) {
            (Some((_, now)), Some(old)) if *now != new => {
                let new_form = self.with_supplier_named(MaterialForm::of_new(&new, self.formats));
                let differences = new_form.differences(&self.with_supplier_named(old));
                self.report_changes(gathered.first, differences);
                self.writes.changed_materials.push((id, new));
            }
            (None, _) => {
                let kind = new.kind.label().to_lowercase();
                self.report_new(gathered.first, format!("New material, {kind}"));
                self.writes.new_materials.push((id, new));
            }
            _ => {}
        }
    }

    fn fill_material(&mut self, form: &mut MaterialForm, gathered: &Gathered) {
        for (column, cell, line) in &gathered.cells {
            let described = &COLUMNS[*column];
            if described.field != "preferred_supplier" {
                if let Err(message) = into_material(form, described, cell) {
                    self.refuse_cell(*line, *column, &message);
                }
                continue;
            }
            let name = said(described, cell);
            match self.supplier_id(name) {
                Some(id) => form.preferred_supplier = id.to_string(),
                None if name.is_empty() => form.preferred_supplier.clear(),
                None => {
                    let message = format!("No supplier is called \u{201c}{}\u{201d}.", clipped(name));
                    self.refuse_cell(*line, *column, &message);
                }
            }
        }
    }

    /// A new material must say its kind; what is fresh is counted by the stem, the rest by the piece.
    fn complete_new_material(&mut self, form: &mut MaterialForm, gathered: &Gathered) {
        let kind = place(Subject::Material, "kind");
        if !gathered.cells.iter().any(|(column, ..)| Some(*column) == kind) {
            self.refuse(
                gathered.first,
                "kind: A new material needs it: flower, foliage, vessel, stand, candle, mechanics or sundry.",
            );
        }
        if form.unit.is_empty() {
            let fresh = [MaterialKind::Flower, MaterialKind::Foliage].map(Choice::code);
            form.unit = if fresh.contains(&form.kind.as_str()) { "stem" } else { "each" }.into();
        }
    }

    fn supplier_id(&self, name: &str) -> Option<SupplierId> {
        let key = key(name);
        let in_file = self.supplier_ids.get(&key).copied();
        in_file.or_else(|| self.known.suppliers.get(&key).map(|(id, _)| *id))
    }

    /// The form with the preferred supplier's name instead of its number, for people to read.
    fn with_supplier_named(&self, mut form: MaterialForm) -> MaterialForm {
        if let Ok(id) = form.preferred_supplier.parse::<SupplierId>() {
            form.preferred_supplier = self.supplier_name(id).unwrap_or_default();
        }
        form
    }

    fn supplier_name(&self, id: SupplierId) -> Option<String> {
        let known = self.known.suppliers.values().find(|(known, _)| *known == id);
        let new = self.writes.new_suppliers.iter().find(|(new, _)| *new == id);
        known.map(|(_, s)| s.name.clone()).or_else(|| new.map(|(_, s)| s.name.clone()))
    }
}
