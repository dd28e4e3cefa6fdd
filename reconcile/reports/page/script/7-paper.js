// @ts-check
// The patch schedule of a rack, for printing.

let wholeSite = false;
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
      .map((s) => page.spots[s])
      .sort((a, b) => order.compare(a.name, b.name))
      .map((spot) => {
        const path = page.paths[(spot.paths || [])[0]];
        const label = (/** @type {string} */ kind) =>
          path
            ? path.steps
                .filter((step) => step[0] === kind && step[1] !== spot.name && step[1] !== "no label")
                .map((step) => step[1])
                .join(", ")
            : "";
        const box = make("span", "", "box");
        const f = [...new Set((spot.findings || []).map((number) => page.findings[number].kind))].join(", ");
        return [
          make("strong", spot.short),
          text(label("cord")),
          text([label("port"), label("jack")].filter(Boolean).join(", ")),
          text(label("fixed cable")),
          text(label("outlet")),
          text(label("device")),
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
      table(["No.", "Cord", "Port, jack", "Fixed cable", "Outlet", "Device", "Mark", "Difference", "Done"], rows),
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
