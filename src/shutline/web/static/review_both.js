// A change that came too late: what is there now beside what was wanted, and two ways to go on.

const TOLD = ["part", "side", "position", "condition", "found", "severity", "remedy", "value", "unit", "state"];

/** Show both versions; gives true where the person wants theirs all the same, false where they leave it. */
export function showBoth(root, answer) {
  const now = answer.present.finding ?? answer.present.fact ?? answer.present;
  const last = answer.present.changes?.at(-1);
  const heading = root.querySelector("h2");
  root.querySelector(".who").textContent = last
    ? `${last.author} changed this at ${new Date(last.at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" })}, after it was shown here. Nothing of yours was done yet.`
    : "This was changed after it was shown here. Nothing of yours was done yet.";
  side(root.querySelector(".present"), answer.said.present, now.state);
  side(root.querySelector(".wanted"), answer.said.wanted, answer.wanted.state);
  const differing = [...TOLD.map((name) => [name, now[name], answer.wanted[name]]), ["words", quote(now), quote(answer.wanted)]]
    .filter(([, mine, theirs]) => (mine ?? "") !== (theirs ?? ""));
  const table = root.querySelector("table");
  table.hidden = differing.length === 0;
  table.querySelector("tbody").replaceChildren(...differing.map(([name, present, wanted]) => {
    const row = document.createElement("tr");
    const head = document.createElement("th");
    head.scope = "row";
    head.textContent = name;
    row.append(head, cell(present), cell(wanted));
    return row;
  }));
  root.hidden = false;
  heading.focus();
  return new Promise((resolve) => {
    const end = (mine) => {
      root.hidden = true;
      root.onkeydown = null;
      resolve(mine);
    };
    root.querySelector(".keep-theirs").onclick = () => end(false);
    root.querySelector(".do-mine").onclick = () => end(true);
    root.onkeydown = (event) => { if (event.key === "Escape") end(false); };
  });
}

function side(place, line, state) {
  place.textContent = line;
  place.dataset.state = state ?? "";
  const told = document.createElement("span");
  told.className = "mark";
  told.textContent = { heard: "heard only", stands: "stands", struck: "struck" }[state] ?? "";
  place.append(" ", told);
}

function cell(value) {
  const place = document.createElement("td");
  place.textContent = value === null || value === undefined || value === "" ? "nothing" : String(value).replaceAll("_", " ");
  return place;
}

function quote(statement) {
  return statement.footings?.find((one) => one.quote)?.quote ?? "";
}
