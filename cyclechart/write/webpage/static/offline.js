// A page that is served to be kept: the browser has it without the server too, where it can do that.

import { data } from "./data.js";
import { make } from "./elements.js";
import { addPanel } from "./setting_groups.js";

const KEPT =
  "This browser keeps the page: it opens without the computer that it comes from, and is renewed from " +
  "there when it is opened. It can be installed from the browser's own menu.";
const NOT_SECURE =
  "Browsers keep pages only from secure addresses: of this computer itself, or with https. This one is " +
  "neither. Save the page as one file instead, and open that.";
const NOT_KEPT = "This browser does not keep the page. Save it as one file instead, and open that.";

/** Let the browser keep the page; return what has become of it. */
async function keepPage() {
  if (!isSecureContext) return NOT_SECURE;
  try {
    await navigator.serviceWorker.register("worker");
    await navigator.serviceWorker.ready;
    return KEPT;
  } catch {
    return NOT_KEPT;
  }
}

if (data.offline) {
  const words = make("p", { role: "status" });
  const link = make("a", { href: "carry", download: true }, "Save as one file");
  addPanel("more", "Without the computer", words, make("p", {}, link));
  void keepPage().then((text) => {
    words.textContent = text;
  });
}
