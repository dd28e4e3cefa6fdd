// @ts-check
// What is printed: the list of what is wrong as work to be ticked off, or the patch schedules of racks.

let wholeSite = false;
/**
 * What a schedule has of one socket: the cord in it and its other end, the next fixed cable and where that leads, and
 * who is at the end of the channel.
 * @param {number} number
 */
function beside(number) {
  const path = page.paths[(page.spots[number].paths || [])[0]];
  const line = path ? path.steps : [];
  const here = line.findIndex((step) => step[3] === number);
  const label = (/** @type {number} */ n) => (line[n] && line[n][1] !== "no label" ? line[n][1] : "");
  const beyond = (/** @type {number} */ n) => label(n > here ? n + 1 : n - 1);
  const next = (/** @type {string} */ kind) => [here - 1, here + 1].find((n) => line[n] && line[n][0] === kind);
  const cord = next("cord");
  const cable = next("fixed cable") ?? line.findIndex((step) => step[0] === "fixed cable");
  const to = cord === undefined ? "" : beyond(cord);
  const leads = cable < 0 ? "" : beyond(cable);
  const known = [page.spots[number].name, to, leads];
  return {
    cord: cord === undefined ? "" : label(cord),
    to,
    cable: label(cable),
    leads,
    end: [label(line.length - 1), label(0)].find((name) => !known.includes(name)) || "",
  };
}
/** @param {string} name */
function schedule(name) {
  const sheet = make("section", "", "schedule");
  sheet.append(
    make("h2", `${page.site}: ${name}`),
    make("p", `Patch schedule. As the switches saw it on ${page.taken}.`),
  );
  for (const n of racks.get(name) || []) {
    const holder = page.holders[n];
    const rows = (holder.groups || [])
      .flatMap((group) => group.flat())
      .sort((a, b) => order.compare(page.spots[a].name, page.spots[b].name))
      .map((s) => {
        const spot = page.spots[s];
        const at = beside(s);
        const box = make("span", "", "box");
        const f = [...new Set((spot.findings || []).map((number) => kindOf(page.findings[number])))].join(", ");
        return [
          make("strong", spot.short),
          text(at.cord),
          text(at.to),
          text(at.cable),
          text(at.leads),
          text(at.end),
          stamp(spot.mark),
          text(f),
          box,
        ];
      });
    sheet.append(
      make(
        "h3",
        `${holder.unit ? `U${holder.unit}  ` : ""}${holder.name} (${holder.kind}${holder.more ? `, ${holder.more}` : ""})`,
      ),
      table(["No.", "Cord", "Cord goes to", "Fixed cable", "Cable goes to", "In the end", "Mark", "Difference", "Done"], rows),
    );
  }
  return sheet;
}
/** @param {Finding} f */
const kindOf = (f) => (f.until ? `${f.kind} (accepted)` : f.kind);
/** @param {string} lead @param {string | undefined} words @returns {Node[]} */
function led(lead, words) {
  if (!words) return [];
  const line = make("p");
  line.append(make("strong", lead), text(` ${words}`));
  return [line];
}
/**
 * One cause as a group of rows: what happened and what to mind, then a row and a box for each movement.
 * @param {Cause} cause
 * @param {number} number from 1
 */
function job(cause, number) {
  const body = make("tbody"),
    head = make("tr", "", "head"),
    told = /** @type {HTMLTableCellElement} */ (make("td"));
  told.colSpan = 3;
  told.append(
    make("h3", `${number}. ${cause.story}${cause.sure ? "" : " (likely, not proven)"}`),
    ...(cause.cautions || []).flatMap((words) => led("Mind:", words)),
    ...led("Tell by:", cause.decides),
    ...led("It could also be:", (cause.others || []).join("; or ")),
  );
  head.append(told);
  body.append(head);
  const advice = (cause.findings || []).map((finding) => page.findings[finding].advice).filter(Boolean);
  const movements = cause.undo || [...new Set(advice)];
  movements.forEach((words, n) => {
    const row = make("tr"),
      done = make("td");
    done.append(make("span", "", "box"));
    row.append(done, make("td", movements.length > 1 ? `${number}.${n + 1}` : `${number}`), make("td", words));
    body.append(row);
  });
  return body;
}
/** What could not be looked at, in one line: paper has no other view to turn to. */
function missing() {
  const switches = [...new Set(gaps.map((gap) => `${gap.switch}${gap.table ? ` (${gap.table})` : ""}`))];
  const more = switches.length > SHOWN ? ` and ${switches.length - SHOWN} more` : "";
  return switches.length ? `${switches.slice(0, SHOWN).join(", ")}${more}` : undefined;
}
/** @returns {HTMLElement[]} */
function acceptedOnPaper() {
  const rows = findings
    .filter((f) => f.until)
    .map((f) => make("li", `${opened(f.kind)}, ${f.title}. Accepted until ${f.until}: ${f.reason}`));
  if (!rows.length) return [];
  const box = make("ul");
  box.append(...rows);
  return [make("h3", `Accepted for now (${rows.length}), nothing to do`), box];
}
/** The list of what is wrong. */
function worklist() {
  const sheet = make("section", "", "work");
  sheet.append(
    make("h2", `${page.site}: what is wrong, and what to do`),
    make(
      "p",
      `As the switches saw it on ${page.taken}; ${page.answered} of ${page.asked} answered. ` +
        `Differences from the map: ${id("difference-count").textContent}.`,
    ),
    ...led("Not looked at:", missing()),
    make("p", id("by-hand").textContent || "", "mind"),
  );
  if (causes.length) {
    const list = table(["Done", "No.", "What to do"], []);
    list.append(...causes.map((cause, n) => job(cause, n + 1)));
    sheet.append(list, make("p", "Done by ____________________________ on ____________________", "signed"));
  } else sheet.append(make("p", `Nothing to do: no difference was seen${findings.length ? " but what was accepted" : ""}.`));
  sheet.append(...acceptedOnPaper());
  return sheet;
}
function schedules() {
  const names = wholeSite || !rack ? [...racks.keys()] : [rack];
  return [...names.map(schedule), make("p", page.means.map(([mark, means]) => `${mark}: ${means}`).join(". "))];
}
addEventListener("beforeprint", () => {
  id("sheet").replaceChildren(...(id("view-wrong").hidden ? schedules() : [worklist()]));
});
addEventListener("afterprint", () => {
  wholeSite = false;
  id("sheet").replaceChildren();
});
id("print-wrong").addEventListener("click", () => print());
id("print-rack").addEventListener("click", () => print());
id("print-all").addEventListener("click", () => {
  wholeSite = true;
  print();
});
