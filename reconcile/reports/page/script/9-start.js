// @ts-check
// Puts everything in place once.

/** @param {string} look @param {string} words */
function flagKey(look, words) {
  const item = make("li"),
    svg = draw("svg", { viewBox: "0 0 34 26", "aria-hidden": "true" }),
    g = draw("g", { class: "spot" });
  g.append(draw("path", { class: look, d: "M12 6h12v14z" }));
  svg.append(g);
  item.append(svg, make("span", words));
  return item;
}

id("legend").replaceChildren(
  ...page.means.map(([mark, means]) => {
    const item = make("li"),
      svg = draw("svg", { viewBox: "0 0 34 26", "aria-hidden": "true" });
    const g = draw("g", { class: `spot ${style(mark)}` });
    g.append(draw("path", { class: "case", d: outline(mark, 2, 1) }), word(mark, 17, 17));
    svg.append(g);
    item.append(svg, make("span", means));
    return item;
  }),
  flagKey("flag", "a difference: touch it"),
  ...(findings.some((f) => f.until) ? [flagKey("flag accepted", "a difference that was accepted")] : []),
);
picks("rack-picks", racks, showRack);
picks("room-picks", rooms, showRoom);
for (const one of document.querySelectorAll("[data-finding]")) {
  one.addEventListener("click", () => openFinding(Number(one.getAttribute("data-finding"))));
}
addEventListener("keydown", (event) => {
  if (event.key === "Escape" && id("card").classList.contains("open") && document.activeElement !== field) shut();
  if (event.key === "/" && !(document.activeElement instanceof HTMLInputElement)) {
    event.preventDefault();
    field.focus();
  }
});
addEventListener("hashchange", () => {
  if (narrow()) id("card").classList.remove("open"); // there it lies over the view that was asked for
  turn(location.hash.slice(1));
});
turn(location.hash.slice(1));
