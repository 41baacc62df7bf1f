// The page's frame: views, notices, undo, opening, and what is loading.

const VIEWS = {
  boat: ["The boat", Boat], sheets: ["The sheets", Sheets], printer: ["At the printer", Printer],
  bench: ["At the bench", Bench], fitup: ["Fit-up", FitUp], share: ["For the next builder", Share],
};
const STEPS = ["unpacking", "starting Python", "reading the program", "looking at the boat"];

const UNKEPT = "This browser does not keep your work (its storage is full or forbidden): save the description before you "
  + "close the page.";

function Begin() {
  const [name, named] = useState("");
  const begin = async (units) => {
    const answer = await asked("new", { boat: name.trim() || "My boat", units });
    if (answer) take({ text: answer.text, file: "boat.yaml", readings: "" });
  };
  return html`<h2>Begin</h2><p>Templates for fixing the runner plank of a small ice boat, at full size on your own paper.
      Nothing leaves this machine.</p>
    <div class="row"><label for="name">Name of your boat</label>
      <input id="name" maxlength="40" value=${name} onInput=${(event) => named(event.target.value)} /></div>
    <div class="bar"><button type="button" id="begin-mm" onClick=${() => begin("mm")}>New boat in millimetres</button>
      <button type="button" id="begin-in" onClick=${() => begin("in")}>New boat in inches</button></div>
    <p>Or open a description, a hand-over PDF or another page: choose it above, or drop it here.</p>`;
}

function Notice({ text, children }) {
  return html`<p class="notice" role="alert">${text} ${children}</p>`;
}

function Frame() {
  const [, again] = useState(0);
  work.drawn = python.told = () => again((count) => count + 1);
  const [slow, setSlow] = useState(false);
  useEffect(() => {
    const timer = setTimeout(() => setSlow(Boolean(work.busy)), 2000);
    return () => { clearTimeout(timer); setSlow(false); };
  }, [work.busy]);
  const has = Boolean(work.job.text);
  const [, View] = VIEWS[work.view] ?? VIEWS.boat;
  const show = (view) => { work.view = view; work.notice = ""; keep(); refresh(); };
  const anew = () => {
    if (!confirm("Begin anew? Undo brings this boat back.")) return;
    work.handle = null;
    take({ text: "", readings: "" });
  };
  const close = () => { work.notice = ""; draw(); };
  const state = python.state || (has && !work.look.values ? STEPS[3] : "");
  return html`<a class="skip" href="#main">to the work</a>
    <header><h1>${work.look.boat ?? work.look.values?.boat ?? "templater"}</h1>
      <div class="bar"><label class="file">Open <input type="file" id="open"
          onChange=${({ target }) => target.files[0] && open(target.files[0])} /></label>
        <button type="button" disabled=${!work.undo.length} onClick=${() => back("undo", "redo")}>Undo</button>
        <button type="button" disabled=${!work.redo.length} onClick=${() => back("redo", "undo")}>Redo</button>
        ${has ? html`<button type="button" id="save" onClick=${saveText}>Save the description</button>
          <button type="button" class="quiet" onClick=${anew}>New boat</button>` : null}</div>
      ${has ? html`<nav aria-label="Views">${Object.entries(VIEWS).map(([key, [title]]) => html`<button type="button"
        id="view-${key}" aria-current=${work.view === key ? "page" : null} onClick=${() => show(key)}>${title}</button>`)}
      </nav>` : null}</header>
    ${state ? html`<div role="status" class="loading"><progress max=${STEPS.length} value=${STEPS.indexOf(state) + 0.5}
      aria-label="loading"></progress> ${state}</div>` : null}
    ${work.busy ? html`<p class="loading" role="status">${work.busy}
      ${" "}${slow && python.beside ? html`<button type="button" id="stop" onClick=${stopPython}>Stop</button>` : null}</p>` : null}
    ${work.notice ? html`<${Notice} text=${work.notice}>
      <button type="button" class="quiet" onClick=${close}>close</button><//>` : null}
    ${work.kept ? null : html`<${Notice} text=${UNKEPT} />`}
    ${work.other ? html`<${Notice} text="This boat was changed in another window.">
      <button type="button" id="theirs" onClick=${() => settle(true)}>Take what is there</button>
      ${" "}<button type="button" id="mine" onClick=${() => settle(false)}>Keep what is here</button><//>` : null}
    <main id="main" tabindex="-1">${has ? html`<${View} />` : python.state ? null : html`<${Begin} />`}</main>
    <footer>Wear eye protection; clamp the work. Loads are not verified. Check dimensions against your class rules with the
      measurer before you drill.</footer>`;
}

returned();
window.addEventListener("dragover", (event) => event.preventDefault());
window.addEventListener("drop", async (event) => {
  event.preventDefault();
  const file = event.dataTransfer.files[0];
  const handle = await event.dataTransfer.items[0]?.getAsFileSystemHandle?.().catch(() => null);
  if (file) open(file, handle);
});
window.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey)) return;
  const key = event.key.toLowerCase();
  if (key === "s" && work.job.text) saveText();
  else if (key === "z" && !event.target.matches("input, textarea")) back(...(event.shiftKey ? ["redo", "undo"] : ["undo", "redo"]));
  else return;
  event.preventDefault();
});
if (location.protocol.startsWith("http") && document.querySelector("link[rel=manifest]")) {
  navigator.serviceWorker?.register("sw.js");
}
render(html`<${Frame} />`, document.getElementById("screen"));
startPage().then(finishTyping).then(refresh).then(() => {
  document.documentElement.dataset.ready = String(Math.round(performance.now()));
}).catch(() => {});
