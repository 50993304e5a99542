// For the buyer: how far the making is, and a link taken along. Everything else are plain forms.
import { ask, tell, tellTrouble } from "/static/workbench.js";

const WAIT_MS = 1500;
const going = document.querySelector(".going[data-going]");

async function follow(place) {
  const bar = place.querySelector("progress");
  const words = place.querySelector("[role='status']");
  try {
    const now = (await ask(place.dataset.now)).under_way;
    if (!now || now.ended) {
      location.replace(location.pathname);
      return;
    }
    bar.value = now.done;
    if (now.at) words.textContent = `Being made: ${now.at}.`;
    setTimeout(() => follow(place), WAIT_MS);
  } catch (error) {
    tellTrouble(error);
  }
}

if (going) {
  going.querySelector(".again").hidden = true;
  setTimeout(() => follow(going), WAIT_MS);
}

for (const button of document.querySelectorAll("[data-copy]")) {
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(button.dataset.copy);
      tell("The link is copied.");
    } catch {
      tell("This browser does not let it be copied: mark it and copy it by hand.");
    }
  });
}
