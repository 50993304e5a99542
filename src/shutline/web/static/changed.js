// The statement's pages, shown one beside the other once they are set.
import { ask, tellTrouble } from "/static/workbench.js";

const sheets = document.querySelector(".sheets");
const status = document.querySelector(".setting");

try {
  const { pages } = await ask(sheets.dataset.pages);
  for (let number = 1; number <= pages; number += 1) {
    const picture = document.createElement("img");
    picture.src = sheets.dataset.page.replace("page-N.png", `page-${number}.png`);
    picture.width = 794;
    picture.height = 1123;
    picture.alt = `Page ${number} of ${pages}${number === 1 ? ", the one to sign" : ""}. The PDF holds the same as text.`;
    const item = document.createElement("li");
    item.append(picture);
    sheets.append(item);
  }
  status.textContent = pages === 1 ? "One page." : `${pages} pages; the first is the one to sign.`;
} catch (error) {
  status.hidden = true;
  tellTrouble(error);
}
