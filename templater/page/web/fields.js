// Fields made from the description's own keys; Python puts what is typed into the text.

export const idOf = (key) => `f-${key.replaceAll(".", "-")}`;
export const at = (values, key) => key.split(".").reduce((below, name) => below?.[name], values ?? {});
const under = (key, other) => key === other || key.startsWith(`${other}.`);

// SVG from Python, parsed as a document of its own: nothing in it can run.
export function Svg({ text, active = "", name = "" }) {
  const holder = useRef();
  useEffect(() => {
    const root = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    holder.current.replaceChildren(document.importNode(root, true));
  }, [text]);
  useEffect(() => {
    let found = false;
    for (const part of holder.current.querySelectorAll("[data-key]")) {
      const { key } = part.dataset;
      const now = Boolean(active) && (under(active, key) || under(key, active));
      part.classList.toggle("active", now);
      found ||= now;
    }
    holder.current.parentElement.classList.toggle("first", found);
  }, [text, active]);
  return html`<div class="svg" ref=${holder} data-picture=${name}></div>`;
}

// Text as it stands in the description; while one types, what was typed stays.
function Input({ id, name, value = "", put, list, label, bad, words }) {
  const box = useRef();
  const timer = useRef();
  useEffect(() => {
    if (document.activeElement !== box.current) box.current.value = value;
  }, [value]);
  const send = () => {
    clearTimeout(timer.current);
    if (box.current && box.current.value !== value) put(box.current.value);
  };
  const later = () => {
    typing(name, box.current.value);
    clearTimeout(timer.current);
    timer.current = setTimeout(send, 200);
  };
  return html`<input id=${id} ref=${box} autocomplete="off" list=${list} onInput=${later} onChange=${send}
    aria-label=${label} aria-invalid=${bad ? "true" : null} aria-describedby=${words} />`;
}

// Every bare length with the unit that it has now: another unit for bare numbers must change no length.
const FORM_FIELDS = FORM.flatMap((section) => section.fields);
const LENGTHS = ["length", "pair", "points", "lengths"];
const leaves = (key, value) => (typeof value === "string" ? [[key, value]]
  : Object.entries(value ?? {}).flatMap(([name, below]) => leaves(`${key}.${name}`, below)));

function bare(fields, values, above = "") {
  return fields.flatMap((field) => {
    const key = above + field.key, value = at(values, key);
    if (field.kind === "keys") return bare(field.fields, values, above);
    if (field.kind === "list") return Object.keys(value ?? []).flatMap((number) => bare(field.fields, values, `${key}.${number}.`));
    if (!LENGTHS.includes(field.kind)) return [];
    return leaves(key, value).filter(([, text]) => /^[-+]?[\d.\s/]+$/.test(text)).map(([name, text]) => [name, `${text} ${values.units}`]);
  });
}

function Said({ findings, id }) {
  return html`<div id=${id} class="said">${findings.map((one) =>
    html`<p class=${one.severity}><b>${one.severity}</b> ${one.text}</p>`)}</div>`;
}

const KINDS = { keys: Group, list: List, points: Points, pair: Points, lengths: Points };

export function Field(props) {
  const { field, above = "", values, said } = props;
  const key = above + field.key;
  const Kind = KINDS[field.kind] ?? Single;
  const findings = said(key);
  const bad = findings.some((one) => one.severity === "error");
  const words = html`<span class="help" id="${idOf(key)}-help">${field.help}</span>
    <${Said} id="${idOf(key)}-said" findings=${findings} />`;
  return html`<${Kind} ...${props} name=${key} id=${idOf(key)} value=${at(values, key)} bad=${bad} words=${words} />`;
}

function Single({ field, name, id, value, values, edit, bad, words }) {
  const put = (text) => edit(name === "units" ? [...bare(FORM_FIELDS, values), [name, text]] : [[name, text === "" ? null : text]]);
  const about = `${id}-help ${id}-said`;
  let box;
  if (field.kind === "choice" || field.kind === "yes") {
    const yes = { true: "yes", false: "no" };
    const send = ({ target }) => put(field.kind === "yes" && target.value ? target.value === "true" : target.value);
    box = html`<select id=${id} value=${value ?? ""} onChange=${send} aria-invalid=${bad ? "true" : null}
        aria-describedby=${about}>${field.needed ? null : html`<option value="">as usual</option>`}
      ${(field.kind === "yes" ? Object.keys(yes) : field.choices).map((one) =>
        html`<option value=${one}>${yes[one] ?? one.replaceAll("_", " ")}</option>`)}</select>`;
  } else {
    const list = field.choices.length ? `${id}-list` : null;
    const bare = field.kind === "length" && /^[-+]?[\d.,]+$/.test(value ?? "");
    box = html`<${Input} id=${id} name=${name} value=${typeof value === "object" ? JSON.stringify(value) : value} put=${put}
        list=${list} bad=${bad} words=${about} />
      ${list ? html`<datalist id=${list}>${field.choices.map((one) => html`<option value=${one} />`)}</datalist>` : null}
      <span class="unit">${bare ? at(values, "units") : ""}</span>`;
  }
  return html`<div class="row" data-key=${name}><label for=${id}>${field.label}${field.needed ? "" : html` <i>if any</i>`}
    </label>${box}${words}</div>`;
}

function Group({ field, above = "", name, id, value, values, said, edit, words, pictures }) {
  const [opened, open] = useState(false);
  const label = field.label.toLowerCase();
  if (value === undefined && !field.needed && !opened) {
    return html`<div class="row" data-key=${name}>
      <button type="button" id=${id} onClick=${() => open(true)}>add ${label}</button> ${words}</div>`;
  }
  const out = () => { open(false); edit([[name, null]]); };
  const pass = { above, values, said, edit, pictures };
  return html`<fieldset data-key=${name} id=${id} tabindex="-1"><legend>${field.label}</legend>${words}
    <${Listed} name=${name} pictures=${pictures} />
    ${field.fields.map((one) => html`<${Field} key=${one.key} field=${one} ...${pass} />`)}
    ${value === undefined || field.needed ? null
      : html`<button type="button" class="quiet" onClick=${out}>leave out ${label}</button>`}</fieldset>`;
}

// The picture in which what a list names stands, with the numbers of its rows.
function Listed({ name, pictures }) {
  const one = pictures.find(({ lists }) => lists.includes(name));
  return one ? html`<figure class="listed"><${Svg} text=${one.svg} active=${name} name=${one.name} />
    <figcaption>${one.title}</figcaption></figure>` : null;
}

// Rows of figures: corners, one point, or lengths.
function Points({ field, name, id, value, edit, bad, words, pictures }) {
  const rows = field.kind === "pair" ? [value ?? []] : Array.isArray(value) ? value : [];
  const flat = field.kind === "lengths", single = field.kind === "pair";
  const cell = (key, text, label) => html`<td><${Input} id=${idOf(key)} name=${key} value=${text} bad=${bad}
    label="${field.label} ${label}" words="${id}-said" put=${(typed) => typed && edit([[key, typed]])} /></td>`;
  const another = flat ? rows.at(-1) ?? "0" : rows.at(-1) ?? ["0", "0"];
  return html`<div class="row wide" data-key=${name} id=${id} tabindex="-1"><span class="label">${field.label}</span>${words}
    <${Listed} name=${name} pictures=${pictures} />
    <table>${flat || !rows.length ? null : html`<tr>${single ? null : html`<td></td>`}<th>aft</th><th>across</th></tr>`}
      ${rows.map((row, number) => {
        const key = single ? name : `${name}.${number}`;
        const parts = flat ? [cell(key, row, number + 1)]
          : ["aft", "across"].map((way, side) => cell(`${key}.${side}`, row[side], `${number + 1} ${way}`));
        return html`<tr>${single ? null : html`<th scope="row">${number + 1}</th>`}${parts}${single ? null : html`<td>
          <button type="button" class="quiet" onClick=${() => edit([[key, null]])}>remove ${number + 1}</button></td>`}</tr>`;
      })}</table>
    ${single ? null : html`<button type="button" onClick=${() => edit([[`${name}.${rows.length}`, another]])}>
      add to ${field.label.toLowerCase()}</button>`}</div>`;
}

function List({ field, name, id, value, values, said, edit, words, pictures }) {
  const rows = Array.isArray(value) ? value : [];
  const called = (row, number) => row.name ?? number + 1;
  const pass = { values, said, edit, pictures };
  return html`<div class="row wide" data-key=${name} id=${id} tabindex="-1"><span class="label">${field.label}</span>${words}
    <${Listed} name=${name} pictures=${pictures} />
    ${rows.map((row, number) => html`<fieldset key=${number}><legend>${called(row, number)}</legend>
      ${field.fields.map((one) => html`<${Field} key=${one.key} field=${one} above="${name}.${number}." ...${pass} />`)}
      <button type="button" class="quiet" onClick=${() => edit([[`${name}.${number}`, null]])}>
        remove ${called(row, number)}</button></fieldset>`)}
    <button type="button" id="${id}-add" onClick=${() => edit([[`${name}.${rows.length}`, { name: `new ${rows.length + 1}` }]])}>
      add to ${field.label.toLowerCase()}</button></div>`;
}
