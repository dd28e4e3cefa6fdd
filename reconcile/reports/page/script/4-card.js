// @ts-check
// The card: one channel from end to end, what was seen on it and what to do.

/** @type {Element | null} */
let cameFrom = null;
let current = -1;

function chosen() {
  for (const one of document.querySelectorAll(".spot.chosen")) one.classList.remove("chosen");
  const path = page.paths[current];
  for (const step of path ? path.steps : []) {
    if (step[3] === undefined || step[3] < 0) continue;
    for (const one of document.querySelectorAll(`[data-spot="${step[3]}"]`)) one.classList.add("chosen");
  }
}
/** @param {string} title @param {Node[]} parts */
function card(title, parts) {
  const box = id("card");
  if (document.activeElement && !box.contains(document.activeElement)) cameFrom = document.activeElement;
  const head = make("h2", title);
  head.id = "card-title";
  box.replaceChildren(button("Close", shut, "close"), head, ...parts);
  box.classList.add("open");
  box.scrollTop = 0;
  box.focus({ preventScroll: true });
  chosen();
}
function shut() {
  id("card").classList.remove("open");
  if (cameFrom instanceof HTMLElement || cameFrom instanceof SVGElement) cameFrom.focus();
}
/** @param {[string, string | undefined][]} rows */
function pairs(rows) {
  const list = make("dl");
  for (const [name, words] of rows) if (words) list.append(make("dt", name), make("dd", words));
  return list;
}
/** @param {string} head @param {string[]} rows @returns {Node[]} */
function list(head, rows) {
  if (!rows.length) return [];
  const box = make("ul", "", "rows");
  box.append(...rows.map((row) => make("li", row)));
  return [make("h3", head), box];
}
/** @param {Path} path @param {number} asked */
function steps(path, asked) {
  const line = make("ol", "", "steps");
  for (const [kind, label, where, spot, more] of path.steps) {
    const loose = kind === "cord" || kind === "fixed cable";
    const item = make(
      "li",
      "",
      `${loose ? "loose" : "place"}${spot !== undefined && spot >= 0 && spot === asked ? " asked" : ""}`,
    );
    item.append(make("span", kind, "kind"));
    item.append(
      spot !== undefined && spot >= 0 && spot !== asked
        ? button(label, () => openSpot(spot), "name")
        : make("span", label, "name"),
    );
    const words = [where, more].filter(Boolean).join("; ");
    if (words) item.append(make("span", ` ${words}`, "soft"));
    line.append(item);
  }
  return line;
}
/** @param {number} number */
function station(number) {
  const s = page.stations[number];
  return [s.device || "not in the map", s.mac, s.maker || "maker not registered", s.grade].filter(Boolean).join(", ");
}
/**
 * What was seen at the switch ports of a channel.
 * @param {Spot} spot
 * @returns {Node[]}
 */
function seen(spot) {
  const heard = [
    ...(spot.stations || []).map(station),
    ...(spot.perhaps || []).map((n) => `perhaps ${station(n)}`),
    ...(spot.heard || []),
  ];
  return [
    pairs([
      ["Seen at", spot.name],
      ["Link", spot.link],
      ["Since", spot.since],
      ["Free", spot.free],
    ]),
    ...list("Heard there", heard.length || !spot.link ? heard : ["nobody was heard"]),
    ...nights(spot),
  ];
}
/** @param {Spot} spot @returns {Node[]} */
function nights(spot) {
  if (!spot.nights || !spot.nights.length) return [];
  const box = make("ol", "", "nights");
  for (const [when, mark] of spot.nights) {
    const one = make("li", `${when.slice(5)} `);
    one.append(stamp(mark));
    box.append(one);
  }
  return [make("h3", "The last nights"), box];
}
/**
 * One finding. The second of a cause does not tell its story again.
 * @param {number} number
 * @param {boolean} told
 * @returns {HTMLElement}
 */
function difference(number, told) {
  const f = page.findings[number];
  const box = make("div", "", "difference");
  const cause = f.cause === undefined ? undefined : page.causes[f.cause];
  box.classList.toggle("accepted", !!f.until);
  box.append(make("h3", `${opened(f.kind)} (${f.until ? `accepted until ${f.until}` : f.severity})`));
  const rows = pairs([
    ["Map", f.map + (f.record ? ` (${f.record})` : "")],
    ["Seen", f.seen],
    ["Since", f.since],
    ["Cause", cause && (told ? "the same as above" : cause.story)],
    ["Accepted", f.reason],
  ]);
  const todo = make("dd"),
    movements = (cause && cause.undo) || [];
  const numbered = make("ol");
  numbered.append(...movements.map((words) => make("li", words)));
  todo.append(movements.length > 1 ? numbered : text(movements[0] || f.advice));
  const cautions = (cause && cause.cautions) || [];
  if (!told && cautions.length) rows.append(make("dt", "Mind"), ...cautions.map((words) => make("dd", words)));
  if (!told && !f.until) rows.append(make("dt", "Do"), todo);
  box.append(rows);
  const more = make("details");
  more.append(make("summary", "Evidence"), ...list("", f.evidence || []).slice(1), pairs([["Key", f.key]]));
  box.append(more);
  if (f.to !== undefined)
    box.append(button(`Show where it is now: ${page.spots[f.to].name}`, () => openSpot(/** @type {number} */ (f.to))));
  return box;
}
/** @param {Iterable<number>} numbers */
function differences(numbers) {
  const told = new Set();
  return [...new Set(numbers)].map((number) => {
    const cause = page.findings[number].cause;
    const made = difference(number, cause !== undefined && told.has(cause));
    told.add(cause);
    return made;
  });
}
/** @param {number} spot @returns {Node[]} */
function places(spot) {
  const holder = page.holders[page.spots[spot].holder];
  const outlet = holder.kind === "outlet";
  return [button(outlet ? `Show in ${holder.room || "its room"}` : `Show in its rack`, () => goTo(spot))];
}

/** @param {number} number @param {number} [asked] @param {number[]} [first] */
function pathParts(number, asked = -1, first = []) {
  const path = page.paths[number];
  const verdict = make("p");
  verdict.append(
    stamp(path.mark),
    make("span", ` ${meaning(path.mark)}`),
    make("span", path.because ? ` (${path.because})` : "", "soft"),
  );
  const ports = path.steps
    .filter((step) => step[0] === "port" && step[3] !== undefined && step[3] >= 0)
    .map((step) => page.spots[/** @type {number} */ (step[3])]);
  const where =
    asked >= 0
      ? asked
      : /** @type {number} */ ((path.steps.find((step) => step[3] !== undefined && step[3] >= 0) || [])[3]);
  return [
    verdict,
    make("h3", "As the map has it"),
    steps(path, asked),
    ...differences([...first, ...(path.findings || [])]),
    pairs([["Record", path.record]]),
    ...ports.flatMap(seen),
    ...(where !== undefined && where >= 0 ? places(where) : []),
  ];
}
/**
 * True for a link between two switches seen from its other end.
 * @param {Path} one @param {Path} other
 */
const mirrors = (one, other) =>
  one.steps.length === other.steps.length &&
  one.steps.every((step, n) => step[1] === other.steps[other.steps.length - 1 - n][1]);
/** @param {number} number */
function openSpot(number) {
  const spot = page.spots[number];
  const holder = page.holders[spot.holder];
  const paths = spot.paths || [];
  current = paths.length ? paths[0] : -1;
  if (paths.length)
    return card(`${holder.kind === "switch" ? "Port" : holder.kind === "panel" ? "Jack" : "Outlet"} ${spot.name}`, [
      ...pathParts(paths[0], number, spot.findings || []),
      ...paths
        .slice(1)
        .filter((other) => !mirrors(page.paths[other], page.paths[paths[0]]))
        .flatMap((other) => [make("h3", "The map has this here too"), steps(page.paths[other], number)]),
    ]);
  const words = make("p");
  words.append(stamp(spot.mark), make("span", ` ${meaning(spot.mark)}`));
  return card(spot.name, [
    words,
    ...differences(spot.findings || []),
    ...(holder.kind === "switch" ? seen(spot) : []),
    ...places(number),
  ]);
}
/** @param {number} number @param {string} title */
function openPath(number, title) {
  current = number;
  card(title, pathParts(number));
}
/** @param {number} number */
function openFinding(number) {
  const f = page.findings[number];
  current = f.path === undefined ? -1 : f.path;
  if (f.path !== undefined) return card(f.title, pathParts(f.path, f.spot === undefined ? -1 : f.spot, [number]));
  return card(f.title, [
    difference(number, false),
    ...(f.spot === undefined ? [] : [...seen(page.spots[f.spot]), ...places(f.spot)]),
  ]);
}
/** @param {number} number */
function openStation(number) {
  const s = page.stations[number];
  current = -1;
  const at = s.spot >= 0 ? [button(`Seen at ${page.spots[s.spot].name}`, () => openSpot(s.spot))] : [];
  card(s.device || s.mac, [
    pairs([
      ["Address", s.mac],
      ["Maker", s.maker || "not registered"],
      ["Device", s.device || "not in the map"],
      ["How sure", s.grade],
    ]),
    ...at,
  ]);
}
/** @param {Link} link */
function openLink(link) {
  const known = link.spots.filter((spot) => spot >= 0);
  const [here, there] = known.map((spot) => page.spots[spot].paths || []);
  const path = (here || []).find((number) => there && there.includes(number));
  const words = make("p", `${opened(link.state)}.`);
  current = path === undefined ? -1 : path;
  if (path !== undefined) return card(link.words, [words, ...pathParts(path)]);
  return card(link.words, [
    words,
    ...differences(known.flatMap((spot) => page.spots[spot].findings || [])),
    ...known.flatMap((spot) => seen(page.spots[spot])),
    ...known.slice(0, 1).flatMap(places),
  ]);
}
/**
 * A switch of the drawing: its links, and where it stands.
 * @param {number} number
 */
function openBox(number) {
  const box = (page.shape.boxes || [])[number];
  const links = (page.shape.lines || []).filter((link) => link.a === number || link.b === number);
  const holder = page.holders[box.holder];
  const first = holder && (holder.groups || []).flat(2)[0];
  const rows = make("ul", "", "links");
  for (const link of links) {
    const row = make("li");
    row.append(
      button(link.words, () => openLink(link)),
      make("span", ` ${link.state}`, "soft"),
    );
    rows.append(row);
  }
  current = -1;
  card(box.name, [
    make("p", [opened(box.state), holder && holder.more, holder && holder.room].filter(Boolean).join(", ")),
    make("h3", `${links.length} ${links.length === 1 ? "link" : "links"} to other switches`),
    rows,
    ...(first === undefined ? [] : [button("Show in its rack", () => goTo(first))]),
  ]);
}
/**
 * Turns to the drawing that a socket is on.
 * @param {number} number
 */
function goTo(number) {
  const holder = page.holders[page.spots[number].holder];
  if (holder.kind === "outlet") {
    turn("rooms");
    showRoom(holder.room || "no room in the map");
  } else {
    turn("racks");
    showRack(rackOf(holder));
  }
  const drawn = document.querySelector(`#view-${holder.kind === "outlet" ? "rooms" : "racks"} [data-spot="${number}"]`);
  if (narrow()) id("card").classList.remove("open");
  if (drawn instanceof SVGElement) {
    drawn.scrollIntoView({ block: "center" });
    drawn.focus();
  }
}
