// The page's frame: views, notices, undo, opening, and what is loading.

const VIEWS = { boat: ["The boat", Boat], sheets: ["The sheets", Sheets], printer: ["At the printer", Printer], bench: ["At the bench", Bench], fitup: ["Fit-up", FitUp], share: ["For the next builder", Share] };
const STEPS = ["unpacking", "starting Python", "reading the program"];

function Begin() {
  const [name, named] = useState("");
  const begin = async (units) => {
    const answer = await asked("new", { boat: name || "My boat", units });
    if (answer) take({ text: answer.text, file: "boat.yaml", readings: "" });
  };
  return html`<h2>Begin</h2><p>Templates for fixing the runner plank of a small ice boat, at full size on your own paper. Nothing leaves this machine.</p>
    <div class="row"><label for="name">Name of your boat</label><input id="name" maxlength="40" value=${name} onInput=${(event) => named(event.target.value)} /></div>
    <div class="bar"><button type="button" id="begin-mm" onClick=${() => begin("mm")}>New boat in millimetres</button><button type="button" id="begin-in" onClick=${() => begin("in")}>New boat in inches</button></div>
    <p>Or open a description, a hand-over PDF or another page: choose it above, or drop it here.</p>`;
}

function Frame() {
  const [, again] = useState(0);
  work.drawn = python.told = () => again((count) => count + 1);
  const [slow, setSlow] = useState(false);
  useEffect(() => {
    const timer = setTimeout(() => setSlow(Boolean(work.busy)), 4000);
    return () => { clearTimeout(timer); setSlow(false); };
  }, [work.busy]);
  const has = Boolean(work.job.text);
  const [, View] = VIEWS[work.view] ?? VIEWS.boat;
  const show = (view) => { work.view = view; work.notice = ""; keep(); refresh(); };
  return html`<a class="skip" href="#main">to the work</a>
    <header><h1>${work.look.boat ?? "templater"}</h1>
      <div class="bar"><label class="file">Open <input type="file" onChange=${(event) => event.target.files[0] && open(event.target.files[0])} /></label>
        <button type="button" disabled=${!work.undo.length} onClick=${() => back("undo", "redo")}>Undo</button>
        <button type="button" disabled=${!work.redo.length} onClick=${() => back("redo", "undo")}>Redo</button>
        ${has ? html`<button type="button" class="quiet" onClick=${() => { if (confirm("Begin anew? Undo brings this boat back.")) take({ text: "", readings: "" }); }}>New boat</button>` : null}</div>
      ${has ? html`<nav aria-label="Views">${Object.entries(VIEWS).map(([key, [title]]) => html`<button type="button" id="view-${key}" aria-current=${work.view === key ? "page" : null} onClick=${() => show(key)}>${title}</button>`)}</nav>` : null}</header>
    ${python.state ? html`<div role="status" class="loading"><progress max="3" value=${STEPS.indexOf(python.state) + 0.5} aria-label="loading"></progress> ${python.state}</div>` : null}
    ${work.busy ? html`<p class="loading" role="status">${work.busy} ${slow && python.beside ? html`<button type="button" onClick=${stopPython}>Stop</button>` : null}</p>` : null}
    ${work.notice ? html`<p class="notice" role="alert">${work.notice} <button type="button" class="quiet" onClick=${() => { work.notice = ""; draw(); }}>close</button></p>` : null}
    ${work.kept ? null : html`<p class="notice" role="alert">This browser does not keep your work (storage is full or forbidden): save the description before you close the page.</p>`}
    ${work.other ? html`<p class="notice" role="alert">This boat was changed in another window. <button type="button" onClick=${() => settle(true)}>Take what is there</button> <button type="button" onClick=${() => settle(false)}>Keep what is here</button></p>` : null}
    <main id="main" tabindex="-1">${!python.ready && !work.form.length ? null : has ? html`<${View} />` : html`<${Begin} />`}</main>
    <footer>Wear eye protection; clamp the work. Loads are not verified. Check dimensions against your class rules with the measurer before you drill.</footer>`;
}

returned();
window.addEventListener("dragover", (event) => event.preventDefault());
window.addEventListener("drop", (event) => { event.preventDefault(); if (event.dataTransfer.files[0]) open(event.dataTransfer.files[0]); });
window.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || event.target.matches("input, textarea")) return;
  event.preventDefault();
  if (event.shiftKey) back("redo", "undo"); else back("undo", "redo");
});
if (location.protocol.startsWith("http") && "serviceWorker" in navigator && document.querySelector("link[rel=manifest]")) navigator.serviceWorker.register("sw.js");
render(html`<${Frame} />`, document.getElementById("screen"));
startPage().then(async () => {
  work.form = (await ask("form", {})).sections;
  await refresh();
  document.documentElement.dataset.ready = String(Math.round(performance.now()));
}).catch(() => {});
