// @ts-check
// The patch schedule of a rack, for printing.

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
  const sheet = make("section");
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
        const f = [...new Set((spot.findings || []).map((number) => page.findings[number].kind))].join(", ");
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
addEventListener("beforeprint", () => {
  const names = wholeSite || !rack ? [...racks.keys()] : [rack];
  const legend = make("p", page.means.map(([mark, means]) => `${mark}: ${means}`).join(". "));
  id("sheet").replaceChildren(...names.map(schedule), legend);
});
addEventListener("afterprint", () => {
  wholeSite = false;
  id("sheet").replaceChildren();
});
id("print-rack").addEventListener("click", () => print());
id("print-all").addEventListener("click", () => {
  wholeSite = true;
  print();
});
