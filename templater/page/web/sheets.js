// The sheets, the printer, the bench and the next builder.

const PDF = "application/pdf";
const TYPES = { pdf: PDF, svg: "image/svg+xml", html: "text/html", json: "application/json", zip: "application/zip" };
const typeOf = (name) => TYPES[name.split(".").pop()] ?? "text/plain";

export function Files({ files, told }) {
  return html`<div class="made" role="status"><p><b>${told}</b></p><ul>${Object.entries(files).map(([name, data]) =>
    html`<li><button type="button" onClick=${() => save(name, data, typeOf(name))}>save ${name}</button></li>`)}</ul></div>`;
}

export function Sheets() {
  const [open, opened] = useState(null);
  const [papers, count] = useState(null);
  const [made, make] = useState(null);
  const [zoom, zoomed] = useState("100");
  const { sheets, look, job } = work;
  useEffect(() => { make(null); count(null); opened(null); }, [job.text]);
  const print = async (zip) => {
    const answer = await asked("make", { zip }, {}, "making and proving the files");
    if (!answer) return;
    const told = `${answer.pages} pages, read back and proved: the worst mark is ${answer.worst} off`;
    make({ files: answer.files, told });
  };
  const tile = async (sheet, name) => {
    const answer = await asked("tile", { sheet, tile: name });
    if (answer) opened({ ...answer, title: `${sheet}, tile ${name}` });
  };
  const errors = look.findings.filter((one) => one.severity === "error");
  if (errors.length) {
    return html`<p>The sheets can be made once the errors are put right:</p>
      <${Findings} findings=${errors} go=${() => { work.view = "boat"; draw(); }} />`;
  }
  const take = (paper) => html`<button type="button" onClick=${() => edit([["print.paper", paper]])}>take ${paper}</button>`;
  return html`<div class="bar"><button type="button" id="print" onClick=${() => print(false)}>Make the files to print</button>
      <button type="button" id="zip" onClick=${() => print(true)}>All files as one zip</button>
      <button type="button" id="papers" onClick=${async () => count((await asked("papers", {}, {}, "trying papers"))?.papers)}>
        Try other papers</button>
      <label>Size <select value=${zoom} onChange=${(event) => zoomed(event.target.value)}>${["100", "200", "400"].map((one) =>
        html`<option value=${one}>${one} %</option>`)}</select></label></div>
    <p>Print at actual size (100 %), with every kind of fitting to the page turned off. Measure the bars of every page before
      anything is cut.</p>
    ${made ? html`<${Files} ...${made} />` : null}
    ${papers ? html`<table class="papers"><caption>Papers</caption>
      <tr><th>paper</th><th>tiles</th><th>marks cut by seams</th><td></td></tr>${papers.map((one) => html`<tr>
        <th scope="row">${one.paper}</th><td>${one.tiles ?? "does not fit"}</td><td>${one.cut || ""}</td>
        <td>${one.tiles ? take(one.paper) : null}</td></tr>`)}</table>` : null}
    ${open ? html`<div class="tile"><div class="bar"><h2>${open.title}</h2>
      <button type="button" onClick=${() => opened(null)}>close</button></div><${Svg} text=${open.svg} /></div>` : null}
    ${sheets ? null : html`<p role="status">The sheets are being drawn.</p>`}
    ${(sheets ?? []).map((sheet) => html`<section key=${sheet.name} class="sheet"><h2>${sheet.title}</h2>
      <p>${sheet.tiles.length} ${sheet.tiles.length === 1 ? "tile" : "tiles"} on ${sheet.paper}${sheet.cut.length
        ? `; seams cut ${sheet.cut.join(", ")}` : ""}</p>
      <div class="scroll" tabindex="0" role="region" aria-label=${sheet.title}><div style=${{ width: `${zoom}%` }}>
        <${Svg} text=${sheet.svg} name=${sheet.name} /></div></div>
      <div class="bar">${sheet.tiles.map((name) => html`<button type="button" class="quiet"
        onClick=${() => tile(sheet.name, name)}>tile ${name}</button>`)}</div></section>`)}`;
}

export function Printer() {
  const [drawn, draws] = useState(null);  // the bars, and the paper that they were drawn for
  const [said, say] = useState("");
  const form = useRef();
  const value = (name) => form.current.elements[name].value;
  const page = async () => {
    const answer = await asked("printer page", { paper: value("paper") });
    if (!answer) return;
    draws(answer);
    save("printer-page.pdf", answer.files["printer-page.pdf"], PDF);
  };
  const keepIt = async () => {
    const name = value("name");
    const readings = Object.fromEntries(Object.keys(drawn.bars).map((bar) => [bar, value(bar)]));
    const answer = await asked("printer set", { paper: drawn.paper, name, readings });
    if (!answer) return;
    await take({ printers: { ...work.job.printers, [name]: answer.profile } });
    await edit([["print.printer", name]]);
    say(`${name} ${answer.words}`);
  };
  return html`<form ref=${form} onSubmit=${(event) => event.preventDefault()}><h2>Measure your printer</h2>
    <div class="row"><label for="pr-name">Name of the printer</label><input id="pr-name" name="name" value="my printer" /></div>
    <div class="row"><label for="pr-paper">Paper</label>
      <input id="pr-paper" name="paper" value=${at(work.look.values, "print.paper") ?? "A4"} /></div>
    <button type="button" id="bars" onClick=${page}>Save the page with the bars</button>
    ${drawn ? html`<p>Print it at actual size (100 %) on ${drawn.paper}. Measure each bar with a steel rule, three times or
        more, and type what you read, with blanks between: in mm as 180.4 180.2, or in inches as 7 3/32 in 7 1/8 in.</p>
      ${Object.entries(drawn.bars).map(([bar, length]) => html`<div class="row">
        <label for="pr-${bar}">${bar}, drawn ${length}</label><input id="pr-${bar}" name=${bar} /></div>`)}
      <button type="button" id="keep-printer" onClick=${keepIt}>Correct for this printer from now on</button>` : null}
    <p role="status">${said}</p>
    <h2>Printers kept here</h2>
    <ul>${Object.keys(work.job.printers).map((name) => html`<li>${name}</li>`)}</ul></form>`;
}

// A page that Python wrote, its own style with it, apart from this page's; ticks stay.
export function Page({ text, name }) {
  const holder = useRef();
  useEffect(() => {
    const inside = new DOMParser().parseFromString(text, "text/html");
    const root = holder.current.shadowRoot ?? holder.current.attachShadow({ mode: "open" });
    const main = document.createElement("div");
    main.className = "body";
    main.append(...[...inside.body.childNodes].map((one) => document.importNode(one, true)));
    for (const out of main.querySelectorAll("script, .skip, nav")) out.remove();
    for (const part of main.querySelectorAll("main, header, footer")) {  // this page has its own
      const plain = document.createElement("div");
      plain.append(...part.childNodes);
      part.replaceWith(plain);
    }
    const style = document.createElement("style");
    const rules = [...inside.querySelectorAll("style")].map((one) => one.textContent).join("\n");
    style.textContent = rules.replace(/:root\b/g, ":host").replace(/(^|[\s,}])body(?=[\s,{])/g, "$1.body");
    root.replaceChildren(style, main);
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
    asked("make", {}, {}, "writing the job sheet").then((answer) =>
      answer && made(new TextDecoder().decode(answer.files["job-sheet.html"])));
  }, [work.job.text]);
  return page ? html`<${Page} text=${page} name="bench" />` : html`<p>The job sheet is being written.</p>`;
}

export function Share() {
  const [page, compared] = useState(null);
  const name = work.look.boat ?? "this boat";
  const file = name.toLowerCase().replace(/[^a-z0-9]+/g, "-");
  const pdf = async () => {
    const answer = await asked("hand over", {}, {}, "binding the hand-over file");
    if (answer) for (const [title, data] of Object.entries(answer.files)) save(title, data, PDF);
  };
  const against = async ({ target }) => {
    const chosen = target.files[0];
    const there = chosen && await asked("open", {}, { [chosen.name]: new Uint8Array(await chosen.arrayBuffer()) });
    const answer = there && await asked("compare", { other: there.job }, {}, "comparing");
    compared(answer?.page ?? null);
  };
  const copy = async () => save(`${file}.html`, await copyWithBoat(), "text/html");
  return html`<h2>For the next builder</h2>
    <div class="bar"><button type="button" id="copy" onClick=${copy}>Save a copy with this boat</button>
      <button type="button" id="hand-over" onClick=${pdf}>Hand-over PDF</button>
      <button type="button" id="yaml" onClick=${() => save(work.job.file, work.job.text, "text/yaml")}>The description (YAML)</button></div>
    <p>The copy is one file: it opens in a browser without installation and without a network, with ${name} in it.</p>
    <h2>Compare with another boat</h2><label for="other">Description, hand-over PDF or page</label>
    <input id="other" type="file" onChange=${against} />
    ${page ? html`<${Page} text=${page} name="compare" />` : null}`;
}
