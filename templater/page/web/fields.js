// Fields made from the description's own keys; Python puts what is typed into the text.

export const idOf = (key) => `f-${key.replaceAll(".", "-")}`;
export const at = (values, key) => key.split(".").reduce((below, name) => below?.[name], values);

// SVG from Python, parsed as a document of its own: nothing in it can run.
export function Svg({ text, active = "", name = "" }) {
  const holder = useRef();
  useEffect(() => {
    const root = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    holder.current.replaceChildren(document.importNode(root, true));
  }, [text]);
  useEffect(() => {
    for (const part of holder.current.querySelectorAll("[data-key]")) {
      const key = part.dataset.key;
      part.classList.toggle("active", Boolean(active) && (key === active || active.startsWith(`${key}.`) || key.startsWith(`${active}.`)));
    }
  }, [text, active]);
  return html`<div class="svg" ref=${holder} data-picture=${name}></div>`;
}

// Text as it stands in the description; while one types, what was typed stays.
function Input({ id, value, put, list, big, label, bad, words }) {
  const box = useRef();
  const timer = useRef();
  useEffect(() => {
    if (document.activeElement !== box.current) box.current.value = value ?? "";
  }, [value]);
  const send = () => {
    clearTimeout(timer.current);
    if (box.current && box.current.value !== (value ?? "")) put(box.current.value);
  };
  const later = () => {
    clearTimeout(timer.current);
    timer.current = setTimeout(send, 200);
  };
  return html`<input id=${id} ref=${box} class=${big ? "big" : ""} autocomplete="off" list=${list} onInput=${later} onChange=${send}
    aria-label=${label} aria-invalid=${bad ? "true" : null} aria-describedby=${words} />`;
}

function Said({ findings, id }) {
  return html`<div id=${id} class="said">${findings.map((one) =>
    html`<p class=${one.severity}><b>${one.severity}</b> ${one.text}</p>`)}</div>`;
}

export function Field({ field, above = "", values, said, edit }) {
  const key = above + field.key;
  const id = idOf(key);
  const value = at(values, key);
  const put = (text) => edit([[key, text === "" ? null : text]]);
  const [opened, open] = useState(false);
  const findings = said(key, field);
  const tell = html`<${Said} id="${id}-said" findings=${findings} />`;
  const words = html`<span class="help" id="${id}-help">${field.help}</span>`;
  const unit = field.kind === "length" && /^[-+]?[\d.,]+$/.test(value ?? "") ? at(values, "units") ?? "" : "";
  const out = value !== undefined && !field.needed
    ? html`<button type="button" class="quiet" onClick=${() => { open(false); edit([[key, null]]); }}>leave out ${field.label.toLowerCase()}</button>` : null;

  if (field.kind === "keys") {
    if (value === undefined && !field.needed && !opened && above === "") {
      return html`<div class="row"><button type="button" id=${id} onClick=${() => open(true)}>add ${field.label.toLowerCase()}</button> ${words}${tell}</div>`;
    }
    const below = typeof value === "object" ? value : {};
    return html`<fieldset data-key=${key}><legend>${field.label}</legend>${words}${tell}
      ${field.fields.map((one) => html`<${Field} key=${one.key} field=${one} above=${above} values=${typeof value === "object" || !value ? values : below} said=${said} edit=${edit} />`)}${out}</fieldset>`;
  }
  if (["points", "pair", "lengths"].includes(field.kind)) {
    const rows = field.kind === "pair" ? [value ?? []] : Array.isArray(value) ? value : [];
    const cell = (name, text, label) => html`<td><${Input} id=${idOf(name)} value=${text} label="${field.label} ${label}"
      put=${(typed) => edit([[name, typed === "" ? "0" : typed]])} bad=${findings.some((one) => one.severity === "error")} /></td>`;
    const flat = field.kind === "lengths";
    return html`<div class="row wide" data-key=${key}><span class="label">${field.label}</span>${words}${tell}
      <table>${rows.map((row, number) => {
        const name = field.kind === "pair" ? key : `${key}.${number}`;
        return html`<tr>${field.kind === "pair" ? null : html`<th scope="row">${number + 1}</th>`}
          ${flat ? cell(name, row, number + 1) : [0, 1].map((side) => cell(`${name}.${side}`, row[side], `${number + 1} ${side ? "across" : "aft"}`))}
          ${field.kind === "pair" ? null : html`<td><button type="button" class="quiet" onClick=${() => edit([[name, null]])}>remove ${number + 1}</button></td>`}</tr>`;
      })}</table>
      ${field.kind === "pair" ? null : html`<button type="button" onClick=${() => edit([[`${key}.${rows.length}`, flat ? rows.at(-1) ?? "0" : rows.at(-1) ?? [0, 0]]])}>add one</button>`}</div>`;
  }
  if (field.kind === "list") {
    const rows = Array.isArray(value) ? value : [];
    return html`<div class="row wide" data-key=${key}><span class="label">${field.label}</span>${words}${tell}
      ${rows.map((row, number) => html`<fieldset key=${number}><legend>${row.name ?? number + 1}</legend>
        ${field.fields.map((one) => html`<${Field} key=${one.key} field=${one} above="${key}.${number}." values=${values} said=${said} edit=${edit} />`)}
        <button type="button" class="quiet" onClick=${() => edit([[`${key}.${number}`, null]])}>remove ${row.name ?? number + 1}</button></fieldset>`)}
      <button type="button" id="${id}-add" onClick=${() => edit([[`${key}.${rows.length}`, { name: `new ${rows.length + 1}` }]])}>add to ${field.label.toLowerCase()}</button></div>`;
  }
  const bad = findings.some((one) => one.severity === "error");
  let box;
  if (field.kind === "choice" || field.kind === "yes") {
    const choices = field.kind === "yes" ? ["true", "false"] : field.choices;
    const send = (event) => put(field.kind === "yes" && event.target.value ? event.target.value === "true" : event.target.value);
    box = html`<select id=${id} value=${value ?? ""} onChange=${send} aria-invalid=${bad ? "true" : null} aria-describedby="${id}-help ${id}-said">
      ${field.needed ? null : html`<option value="">as usual</option>`}
      ${choices.map((one) => html`<option value=${one}>${one === "true" ? "yes" : one === "false" ? "no" : one}</option>`)}</select>`;
  } else {
    const list = field.choices.length ? `${id}-list` : null;
    const shown = typeof value === "object" ? JSON.stringify(value) : value;
    box = html`<${Input} id=${id} value=${shown} put=${put} list=${list} bad=${bad} words="${id}-help ${id}-said" />
      ${list ? html`<datalist id=${list}>${field.choices.map((one) => html`<option value=${one} />`)}</datalist>` : null}<span class="unit">${unit}</span>`;
  }
  return html`<div class="row" data-key=${key}><label for=${id}>${field.label}${field.needed ? "" : html` <i>if any</i>`}</label>${box}${words}${tell}</div>`;
}
