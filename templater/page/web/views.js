// The sheets, the printer, the bench, the fit-up and the next builder.

const PDF = "application/pdf";
const typeOf = (name) => (name.endsWith(".pdf") ? PDF : name.endsWith(".svg") ? "image/svg+xml" : name.endsWith(".html") ? "text/html" : "text/plain");

function Files({ files, told }) {
  return html`<div class="made" role="status"><p><b>${told}</b></p><ul>${Object.entries(files).map(([name, data]) =>
    html`<li><button type="button" onClick=${() => save(name, data, typeOf(name))}>save ${name}</button></li>`)}</ul></div>`;
}

export function Sheets() {
  const [open, opened] = useState(null);
  const [papers, count] = useState(null);
  const [made, make] = useState(null);
  const [zoom, zoomed] = useState("100");
  const { sheets } = work;
  const print = async (zip) => {
    const answer = await asked("make", { zip }, {}, "making and proving the files");
    if (answer) make({ files: answer.files, told: `${answer.pages} pages, read back and proved: the worst mark is ${answer.worst} off` });
  };
  const tile = async (sheet, name) => {
    const answer = await asked("tile", { sheet, tile: name });
    if (answer) opened({ ...answer, title: `${sheet}, tile ${name}` });
  };
  const errors = work.look.findings.filter((one) => one.severity === "error");
  if (errors.length) return html`<p>The sheets can be made once the errors are put right:</p><${Findings} findings=${errors} go=${() => { work.view = "boat"; draw(); }} />`;
  return html`<div class="bar"><button type="button" id="print" onClick=${() => print(false)}>Make the files to print</button>
      <button type="button" onClick=${() => print(true)}>All files as one zip</button>
      <button type="button" onClick=${async () => count((await asked("papers", {}, {}, "trying papers"))?.papers)}>Try other papers</button>
      <label>Size <select value=${zoom} onChange=${(event) => zoomed(event.target.value)}>${["100", "200", "400"].map((one) => html`<option value=${one}>${one} %</option>`)}</select></label></div>
    <p>Print at actual size (100 %), with every kind of fitting to the page turned off. Measure the bars of every page before anything is cut.</p>
    ${made ? html`<${Files} ...${made} />` : null}
    ${papers ? html`<table class="papers"><caption>Papers</caption><tr><th>paper</th><th>tiles</th><th>marks cut by seams</th><th></th></tr>${papers.map((one) =>
      html`<tr><th scope="row">${one.paper}</th><td>${one.tiles ?? "does not fit"}</td><td>${one.cut || ""}</td><td>${one.tiles ? html`<button type="button" onClick=${() => edit([["print.paper", one.paper]])}>take ${one.paper}</button>` : null}</td></tr>`)}</table>` : null}
    ${open ? html`<div class="tile"><div class="bar"><h2>${open.title}</h2><button type="button" onClick=${() => opened(null)}>close</button></div><${Svg} text=${open.svg} /></div>` : null}
    ${sheets?.faults?.map((one) => html`<p class="error"><b>error</b> ${one.text}</p>`)}
    ${(sheets?.sheets ?? []).map((sheet) => html`<section key=${sheet.name} class="sheet"><h2>${sheet.title}</h2>
      <p>${sheet.tiles.length} tiles on ${sheet.paper}${sheet.cut.length ? `; seams cut ${sheet.cut.join(", ")}` : ""}</p>
      <div class="scroll" tabindex="0" role="region" aria-label=${sheet.title}><div style=${{ width: `${zoom}%` }}><${Svg} text=${sheet.svg} name=${sheet.name} /></div></div>
      <div class="bar">${sheet.tiles.map((name) => html`<button type="button" class="quiet" onClick=${() => tile(sheet.name, name)}>tile ${name}</button>`)}</div></section>`)}`;
}

export function Printer() {
  const [bars, drawn] = useState(null);
  const [said, say] = useState("");
  const form = useRef();
  const value = (name) => form.current.elements[name].value;
  const page = async () => {
    const answer = await asked("printer page", { paper: value("paper") });
    if (answer) { drawn(answer.bars); save("printer-page.pdf", answer.files["printer-page.pdf"], PDF); }
  };
  const keepIt = async () => {
    const readings = Object.fromEntries(bars.map((bar) => [bar.id, value(bar.id)]));
    const answer = await asked("printer set", { paper: value("paper"), name: value("name"), readings });
    if (!answer) return;
    say(`${value("name")} ${answer.words}`);
    await take({ printers: { ...work.job.printers, [value("name")]: answer.profile } });
    await edit([["print.printer", value("name")]]);
  };
  return html`<form ref=${form} onSubmit=${(event) => event.preventDefault()}><h2>Measure your printer</h2>
    <div class="row"><label for="pr-name">Name of the printer</label><input id="pr-name" name="name" value="my printer" /></div>
    <div class="row"><label for="pr-paper">Paper</label><input id="pr-paper" name="paper" value=${at(work.look.values, "print.paper") ?? "A4"} /></div>
    <button type="button" onClick=${page}>Save the page with the bars</button>
    ${bars ? html`<p>Print it at actual size (100 %). Measure each bar with a steel rule, three times or more, and type what you read, with blanks between.</p>
      ${bars.map((bar) => html`<div class="row"><label for="pr-${bar.id}">${bar.id}, drawn ${bar.length} mm</label><input id="pr-${bar.id}" name=${bar.id} inputmode="decimal" /></div>`)}
      <button type="button" id="keep-printer" onClick=${keepIt}>Correct for this printer from now on</button>` : null}
    <p role="status">${said}</p>
    <h2>Printers kept here</h2><ul>${Object.keys(work.job.printers).map((name) => html`<li>${name}</li>`)}</ul></form>`;
}

// A page that Python wrote, its own style with it, apart from this page's; ticks stay.
function Page({ text, name }) {
  const holder = useRef();
  useEffect(() => {
    const inside = new DOMParser().parseFromString(text, "text/html");
    const root = holder.current.shadowRoot ?? holder.current.attachShadow({ mode: "open" });
    const main = document.createElement("div");
    main.append(...[...inside.body.childNodes].map((one) => document.importNode(one, true)));
    for (const script of main.querySelectorAll("script")) script.remove();
    root.replaceChildren(...[...inside.querySelectorAll("style")].map((one) => document.importNode(one, true)), main);
    main.querySelectorAll("input[type=checkbox]").forEach((box, number) => {
      const key = `${name} ${box.id || number}`;
      box.checked = Boolean(work.ticks[key]);
      box.addEventListener("change", () => { work.ticks[key] = box.checked; keep(); });
    });
  }, [text]);
  return html`<div class="page" ref=${holder}></div>`;
}

export function Bench() {
  const [page, made] = useState(null);
  useEffect(() => {
    asked("make", {}, {}, "writing the job sheet").then((answer) => answer && made(new TextDecoder().decode(answer.files["job-sheet.html"])));
  }, [work.job.text]);
  return page ? html`<${Page} text=${page} name="bench" />` : html`<p>The job sheet is being written.</p>`;
}

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", "1/2"];

export function FitUp() {
  const [side, setSide] = useState("port");
  const [typed, type] = useState("");
  const [found, find] = useState(null);
  const [made, make] = useState(null);
  const text = work.job.readings;
  useEffect(() => {
    if (!text) asked("new readings").then((answer) => answer && take({ readings: answer.text }));
    else ask("fit up", { job: work.job }).then(find).catch(() => {});
  }, [text, work.job.text]);
  const attempts = found?.values?.square?.attempts ?? found?.attempts ?? [];
  const values = found?.values ?? {};
  const number = Math.max(0, (values.square?.attempts?.length ?? 1) - 1);
  const read = (way) => { const rows = at(values, `square.attempts.${number}.${way}`); return Array.isArray(rows) ? rows : []; };
  const place = (way) => `square.attempts.${number}.${way}`;
  const put = (changes) => edit(changes, "readings");
  const add = () => { if (typed.trim()) put([[place(side), [...read(side), typed]]]); type(""); };
  const drop = (way, which) => put([[place(way), read(way).filter((_, one) => one !== which)]]);
  const next = () => put([[`square.attempts.${number + 1}`, { date: "", note: "", port: [], starboard: [] }]]);
  const last = found?.attempts?.at(-1);
  const sheets = async () => {
    const answer = await asked("fit up", { sheets: true }, {}, "drawing the sheets");
    if (answer) make({ files: answer.files, told: answer.worst ? `read back and proved: the worst mark is ${answer.worst} off` : "the record" });
  };
  return html`<div class="fitup"><div class="left">
    <h2>Attempt ${number + 1}: tape to the ${side} chock corner</h2>
    <div class="bar sides">${["port", "starboard"].map((way) => html`<button type="button" aria-pressed=${String(side === way)} onClick=${() => setSide(way)}>${way}</button>`)}</div>
    <label for="reading">Reading</label><input id="reading" class="big" inputmode="decimal" autocomplete="off" value=${typed} onInput=${(event) => type(event.target.value)} onKeyDown=${(event) => event.key === "Enter" && add()} />
    <div class="keys">${KEYS.map((one) => html`<button type="button" onClick=${() => type(one.includes("/") ? `${typed} ${one}` : typed + one)}>${one}</button>`)}
      <button type="button" onClick=${() => type(typed.slice(0, -1))}>back</button><button type="button" id="enter" class="enter" onClick=${add}>enter</button></div>
    ${["port", "starboard"].map((way) => html`<h3>${way}</h3><ul class="readings">${read(way).map((one, which) => html`<li>${one} <button type="button" class="quiet" aria-label="remove ${way} reading ${one}" onClick=${() => drop(way, which)}>remove</button></li>`)}</ul>`)}
    <div class="bar"><button type="button" onClick=${next}>The plank was moved: next attempt</button><button type="button" onClick=${() => save("readings.yaml", work.job.readings, "text/yaml")}>Save the readings</button>
      <button type="button" onClick=${sheets}>Sheets and record</button></div>
    ${made ? html`<${Files} ...${made} />` : null}
    </div><div class="right" role="status">
    ${found?.faults?.map((one) => html`<p class="error"><b>error</b> ${one.line ? `line ${one.line}: ` : ""}${one.text}</p>`)}
    ${last ? html`<p class="verdict ${last.passed ? "good" : ""}"><b>${last.verdict}</b></p><ul class="moves">${last.moves.map(([end, way]) => html`<li><b>${end}</b> end: ${way}</li>`)}</ul>
      <p>The tapes should read ${last.aim[0]} to port and ${last.aim[1]} to starboard.</p><${Svg} text=${last.svg} />
      ${last.findings.map((one) => html`<p class=${one.severity}><b>${one.severity}</b> ${one.text}</p>`)}` : html`<p>Read the tape to both sides, three times or more, lifting it in between.</p>`}
    </div>
    <details><summary>All readings as text: centreline, shims, other settings</summary><label for="readings">Readings</label><textarea id="readings" rows="24" spellcheck=${false} value=${text} onChange=${(event) => take({ readings: event.target.value }, "readings typed")} /></details>
    ${found?.page ? html`<${Page} text=${found.page} name="fit-up" />` : null}</div>`;
}

export function Share() {
  const [other, compare] = useState(null);
  const name = work.look.boat ?? "boat";
  const file = name.toLowerCase().replace(/[^a-z0-9]+/g, "-");
  const pdf = async () => {
    const answer = await asked("hand over", {}, {}, "binding the hand-over file");
    if (answer) for (const [title, data] of Object.entries(answer.files)) save(title, data, PDF);
  };
  const against = async (event) => {
    const chosen = event.target.files[0];
    const there = chosen && await asked("open", {}, { [chosen.name]: new Uint8Array(await chosen.arrayBuffer()) });
    if (there) compare(await asked("compare", { other: there.job }, {}, "comparing"));
  };
  return html`<h2>For the next builder</h2>
    <div class="bar"><button type="button" id="copy" onClick=${() => save(`${file}.html`, copyWithBoat(), "text/html")}>Save a copy with this boat</button>
      <button type="button" onClick=${pdf}>Hand-over PDF</button><button type="button" onClick=${() => save(work.job.file || `${file}.yaml`, work.job.text, "text/yaml")}>The description (YAML)</button></div>
    <p>The copy is one file: it opens in a browser without installation and without a network, with ${name} in it.</p>
    <h2>Compare with another boat</h2><label for="other">Description, hand-over PDF or page</label><input id="other" type="file" onChange=${against} />
    ${other ? html`<table><caption>Keys that differ</caption><tr><th>key</th><th>${other.a}</th><th>${other.b}</th></tr>${other.differences.map((row) => html`<tr><th scope="row">${row[0]}</th><td>${row[1]}</td><td>${row[2]}</td></tr>`)}</table>
      <p>${other.moves.length} holes differ.</p><ul>${other.sheets.map(([sheet, word, worst]) => html`<li>this boat's ${sheet} template <b>${word}</b> on the other ${worst ? `(worst: ${worst})` : ""}</li>`)}</ul>` : null}`;
}
