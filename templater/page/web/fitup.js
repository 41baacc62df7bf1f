// Fit-up: large keys for what is read off tape, gauge and rule, and what follows from it.

const PAD = ["7", "8", "9", "4", "5", "6", "1", "2", "3", "0", ".", "/", "-", "blank", "back"];
const JOBS = { square: "Square", centreline: "Centreline", shim: "Shims" };
const BOLTS = ["port", "starboard"];

function Choice({ id, label, value, choices, put }) {
  return html`<label for=${id}>${label} <select id=${id} value=${String(value ?? "")} onChange=${(event) => put(event.target.value)}>
    ${choices.map((one) => html`<option value=${String(one)}>${one}</option>`)}</select></label>`;
}

function Attempt({ last }) {
  if (!last) return html`<p>Read the tape to both sides, three times or more, lifting it in between.</p>`;
  return html`<p class="verdict"><b>${last.verdict}</b></p>
    ${last.decided ? html`<ul class="moves">${last.moves.map(([end, way]) => html`<li><b>${end}</b> end: ${way}</li>`)}</ul>
      <p>The tapes should read ${last.aim[0]} to port and ${last.aim[1]} to starboard.</p>
      <${Svg} text=${last.svg} name="attempt" />` : null}`;
}

export function FitUp() {
  const [which, choose] = useState("square");
  const [chosen, pick] = useState("");
  const [typed, type] = useState("");
  const [found, find] = useState(null);
  const [made, make] = useState(null);
  const text = work.job.readings;
  useEffect(() => {
    make(null);
    if (!text) asked("new readings").then((answer) => answer && take({ readings: answer.text }));
    else asked("fit up").then((answer) => answer && find(answer));
  }, [text, work.job.text]);
  const put = (changes) => edit(changes, "readings");
  const shown = found?.places[which] ?? [];
  const place = shown.find((one) => one.key === chosen) ?? shown[0];
  const { square } = found ?? {};
  const add = () => {
    if (!typed.trim() || !place) return;
    put([[place.single ? place.key : `${place.key}.+`, typed]]);
    type("");
  };
  const drop = (one, number) => put([one.single ? [one.key, null]
    : one.read.length > 1 ? [`${one.key}.${number}`, null] : [one.key, []]]);
  const press = (key) => type(key === "back" ? typed.slice(0, -1) : typed + (key === "blank" ? " " : key));
  const next = () => put([[square.next, { setting: square.setting, first_bolt: square.first_bolt, port: [], starboard: [] }]]);
  const gap = () => {
    if (!typed.trim() || !found) return;
    put([[`${found.gap}.at`, typed], [`${found.gap}.gap`, []]]);
    type("");
  };
  const sheets = async () => {
    const answer = await asked("fit up", { sheets: true }, {}, "drawing the sheets");
    if (!answer?.files) return;
    const told = answer.worst ? `read back and proved: the worst mark is ${answer.worst} off` : "no shims yet: the record alone";
    make({ files: answer.files, told });
  };
  const findings = found?.findings ?? [];
  const of = ({ key }) => findings.filter((one) => under(one.key, key));
  const here = (key) => under(key, which) || !Object.keys(JOBS).some((job) => under(key, job));
  const other = findings.filter((one) => here(one.key) && !shown.some((place) => of(place).includes(one)));
  const tell = (one) => html`<p class=${one.severity}><b>${one.severity}</b> ${one.line ? `line ${one.line}: ` : ""}${one.text}</p>`;
  return html`<div class="fitup"><div class="left">
    <div class="bar">${Object.entries(JOBS).map(([key, title]) => html`<button type="button" id="fit-${key}"
      aria-pressed=${String(which === key)} onClick=${() => { choose(key); pick(""); }}>${title}</button>`)}</div>
    ${which === "square" && square ? html`<div class="bar"><b>Attempt ${square.number}</b>
      <${Choice} id="setting" label="setting" value=${square.setting} choices=${square.settings} put=${(one) => put([[`${square.at}.setting`, Number(one)]])} />
      <${Choice} id="first" label="first bolt" value=${square.first_bolt} choices=${BOLTS} put=${(one) => put([[`${square.at}.first_bolt`, one]])} /></div>` : null}
    <ul class="places">${shown.map((one) => html`<li key=${one.key}>
      <button type="button" aria-pressed=${String(one.key === place?.key)} onClick=${() => pick(one.key)}>${one.label}</button>
      ${one.read.map((read, number) => html`<span>${read} <button type="button" class="quiet"
        aria-label="remove ${read} of ${one.label}" onClick=${() => drop(one, number)}>remove</button></span>`)}
      ${of(one).map(tell)}</li>`)}</ul>
    <label for="reading">${place?.label ?? "Reading"}</label>
    <input id="reading" class="big" inputmode="decimal" autocomplete="off" value=${typed}
      onInput=${(event) => type(event.target.value)} onKeyDown=${(event) => event.key === "Enter" && add()} />
    <div class="pad">${PAD.map((one) => html`<button type="button" onClick=${() => press(one)}>${one}</button>`)}
      <button type="button" id="enter" class="enter" onClick=${add}>enter</button></div>
    <div class="bar">
      ${which === "square" ? html`<button type="button" id="next" onClick=${next}>The plank was moved: next attempt</button>` : null}
      ${which === "shim" ? html`<button type="button" id="gap" onClick=${gap}>Gap at the place typed above, from the middle</button>` : null}
      <button type="button" id="fit-sheets" onClick=${sheets}>Sheets and record</button>
      <button type="button" onClick=${() => save("readings.yaml", work.job.readings, "text/yaml")}>Save the readings</button></div>
    ${made ? html`<${Files} ...${made} />` : null}
    </div><div class="right" role="status">
    ${which === "square" ? html`<${Attempt} last=${found?.attempts?.at(-1)} />`
      : html`<ul class="moves">${(found?.told?.[which] ?? []).map((line) => html`<li>${line}</li>`)}</ul>`}
    ${other.map(tell)}
    </div>
    <details><summary>All readings as text</summary><label for="readings">Readings</label>
      <textarea id="readings" rows="24" spellcheck=${false} value=${text}
        onChange=${(event) => take({ readings: event.target.value }, "readings typed")} /></details>
    ${found?.page ? html`<details><summary>The record</summary><${Page} text=${found.page} name="fit-up" /></details>` : null}
  </div>`;
}
