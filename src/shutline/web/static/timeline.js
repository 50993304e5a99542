// The page of the timeline: bring in a file of tests, and say whose a record is; the page is drawn anew then.

import { ask, tellTrouble } from "/static/workbench.js";

const form = document.getElementById("tests");
form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const file = document.getElementById("file").files[0];
  const came = form.querySelector(".came");
  const button = form.querySelector("button");
  button.disabled = true;
  try {
    const answer = await ask(`${form.dataset.address}?${new URLSearchParams({ name: file.name })}`, { method: "POST", body: file });
    if (answer.new) { location.reload(); return; }
    came.textContent = "All of it was known before.";
  } catch (error) {
    came.textContent = "";
    tellTrouble(error);
  }
  button.disabled = false;
});

const records = document.querySelector(".records");
records.addEventListener("click", async (event) => {
  const button = event.target.closest("button[data-verb]");
  if (!button) return;
  const row = button.closest("li");
  button.disabled = true;
  try {
    await ask(records.dataset.address, { method: "POST", body: { id: row.dataset.id, verb: button.dataset.verb, version: Number(row.dataset.version) } });
    location.reload();
  } catch (error) {
    button.disabled = false;
    tellTrouble(error);
  }
});
