"use strict";
(() => {
  const at = (id) => document.getElementById(id);
  const frame = at("page");
  let version = -1;
  let drawn = -1;

  function line(under, text, name) {
    const made = document.createElement("p");
    made.textContent = text;
    if (name) made.className = name;
    under.append(made);
  }

  function tell(news) {
    at("file").textContent = news.file;
    document.title = `${news.file}, live`;
    at("state").textContent = news.state;
    at("findings").replaceChildren(
      ...news.findings.map((one) => {
        const item = document.createElement("li");
        item.className = one.severity;
        line(item, `${one.severity}: ${one.where}`, "kind");
        line(item, one.message);
        for (const way of one.tries) {
          const text = document.createElement("pre");
          text.textContent = `try: ${way}`;
          item.append(text);
        }
        return item;
      }),
    );
  }

  /** The new page goes on where the old one was: its settings, its place, playing if that played. */
  function turn(to) {
    const before = frame.contentWindow && frame.contentWindow.__page;
    const kept = before && before.keep ? before.keep() : null;
    frame.onload = () => {
      const after = frame.contentWindow.__page;
      if (kept && after && after.take) after.take(kept);
      document.body.dataset.drawn = String(to);
    };
    frame.src = `page?${to}`;
    drawn = to;
  }

  async function follow() {
    for (;;) {
      try {
        const answer = await fetch(`news?${version}`);
        const news = await answer.json();
        version = news.version;
        tell(news);
        if (news.drawn !== drawn && news.drawn >= 0) turn(news.drawn);
      } catch {
        at("state").textContent = "The command has ended. What is here can still be played.";
        await new Promise((later) => setTimeout(later, 2000));
      }
    }
  }

  follow();
})();
