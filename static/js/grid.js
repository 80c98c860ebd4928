// `table[data-grid]`: lines that are typed one after another. Enter goes to the next line and adds one at the end;
// Ctrl or Alt with an arrow moves up and down a column; a removed line can be put back.
// A new line is a copy of the <template> beside the table. Names are repeated keys, so order alone tells lines apart;
// ids follow the line's place: `{table id}-{place}-{data-cell}`, counted from 0, as the server writes them.

document.addEventListener("keydown", (event) => {
  const table = event.target.closest("table[data-grid]");
  if (!table || event.isComposing || !event.target.matches("input, select")) return;
  const row = event.target.closest("tr");
  if (event.key === "Enter" && !event.ctrlKey && !event.metaKey && !event.altKey) {
    event.preventDefault();
    enterNext(table, row);
  } else if ((event.ctrlKey || event.altKey) && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
    event.preventDefault();
    moveInColumn(event.target, event.key === "ArrowDown" ? row.nextElementSibling : row.previousElementSibling);
  }
});

document.addEventListener("click", (event) => {
  const add = event.target.closest("[data-add-line]");
  if (add) focusFirst(addLine(document.getElementById(add.dataset.addLine)));
  const remove = event.target.closest("[data-remove-line]");
  if (remove) removeLine(remove.closest("table[data-grid]"), remove.closest("tr"));
});

function enterNext(table, row) {
  const next = row.nextElementSibling;
  if (next) return focusFirst(next);
  // An empty last line is where the next one is typed already.
  focusFirst(isEmpty(row) ? row : addLine(table));
}

function moveInColumn(field, row) {
  if (!row) return;
  const place = fieldsOf(field.closest("tr")).indexOf(field);
  const there = fieldsOf(row)[place];
  there?.focus();
  there?.select?.();
}

function addLine(table) {
  const template = table.closest("[data-grid-wrap]").querySelector("template");
  table.tBodies[0].append(template.content.cloneNode(true));
  renumber(table);
  return table.tBodies[0].lastElementChild;
}

function removeLine(table, row) {
  const body = row.parentElement;
  const after = row.nextElementSibling;
  const place = [...body.children].indexOf(row) + 1;
  row.remove();
  if (!body.children.length) addLine(table);
  renumber(table);
  changed(table);
  offerBack(table, place, () => {
    body.insertBefore(row, after?.isConnected ? after : null);
    renumber(table);
    changed(table);
    focusFirst(row);
  });
}

// Undo instead of "are you sure".
function offerBack(table, place, restore) {
  const note = table.closest("[data-grid-wrap]").querySelector("[data-grid-note]");
  if (!note) return focusFirst(table.tBodies[0].lastElementChild);
  const back = document.createElement("button");
  back.type = "button";
  back.className = "quiet";
  back.textContent = "Put it back";
  back.addEventListener("click", () => {
    note.replaceChildren();
    restore();
  });
  note.replaceChildren(`Line ${place} removed. `, back);
  back.focus();
}

function renumber(table) {
  [...table.tBodies[0].children].forEach((row, place) => {
    for (const cell of row.querySelectorAll("[data-cell]")) cell.id = `${table.id}-${place}-${cell.dataset.cell}`;
  });
}

// Tells the form (live figures, unsaved changes) that its lines are others now.
function changed(table) {
  table.dispatchEvent(new Event("input", { bubbles: true }));
}

function focusFirst(row) {
  const field = fieldsOf(row)[0];
  field?.focus();
  field?.select?.();
}

function isEmpty(row) {
  return fieldsOf(row).every((field) => field.tagName === "SELECT" || field.value === (field.defaultValue || ""))
    && fieldsOf(row)[0]?.value === "";
}

function fieldsOf(row) {
  return [...row.querySelectorAll("input:not([type=hidden]), select")];
}
