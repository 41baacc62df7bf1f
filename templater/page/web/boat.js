// The boat: fields in the order in which one measures, pictures beside them, and the text that both write.

const keysOf = (field, above = "") => [above + field.key, ...(field.kind === "keys" ? field.fields.flatMap((one) => keysOf(one, above)) : [])];

// Each finding stands at the field whose key comes nearest to its own.
function placed(form, findings) {
  const keys = new Set(form.flatMap((section) => section.fields.flatMap((field) => keysOf(field))));
  const lists = form.flatMap((section) => section.fields).flatMap(function all(field) { return [field, ...(field.kind === "keys" ? field.fields.flatMap(all) : [])]; }).filter((field) => field.kind === "list");
  for (const list of lists) for (let number = 0; number < 99; number++) for (const below of list.fields) for (const key of keysOf(below, `${list.key}.${number}.`)) keys.add(key);
  const places = new Map();
  for (const finding of findings) {
    let key = finding.key;
    while (key && !keys.has(key)) key = key.includes(".") ? key.slice(0, key.lastIndexOf(".")) : "";
    places.set(key, [...(places.get(key) ?? []), { ...finding, field: key }]);
  }
  return places;
}

export function Findings({ findings, go }) {
  if (!findings.length) return html`<p class="none" role="status">Nothing found: the boat can be made.</p>`;
  return html`<ul class="findings" role="status">${findings.map((one) => html`<li class=${one.severity}><button type="button" onClick=${() => go(one)}>
    <b>${one.severity}</b> ${one.line ? `line ${one.line}: ` : ""}${one.key} ${one.text}</button></li>`)}</ul>`;
}

export function Boat() {
  const [text, asText] = useState(false);
  const { look, form, job, key } = work;
  const places = placed(form, look.findings);
  const all = [...places.values()].flat();
  const area = useRef();
  const go = (finding) => {
    if (text) {
      const lines = area.current.value.split("\n");
      const start = lines.slice(0, finding.line - 1).join("\n").length + (finding.line > 1 ? 1 : 0);
      area.current.focus();
      area.current.setSelectionRange(start, start + (lines[finding.line - 1] ?? "").length);
      return;
    }
    const box = document.getElementById(idOf(finding.field)) ?? document.querySelector(`[data-key="${CSS.escape(finding.field)}"] input`);
    box?.focus();
    box?.scrollIntoView({ block: "center" });
  };
  const focus = (event) => {
    const id = event.target.id ?? "";
    const found = event.target.closest("[data-key]")?.dataset.key ?? "";
    work.key = id.startsWith("f-") && id.length > idOf(found).length ? `${found}${id.slice(idOf(found).length).replaceAll("-", ".")}` : found;
    draw();
  };
  const said = (name) => places.get(name) ?? [];
  return html`<div class="boat">
    <div class="left">
      <div class="bar"><button type="button" aria-pressed=${String(!text)} onClick=${() => asText(false)}>Fields</button>
        <button type="button" aria-pressed=${String(text)} onClick=${() => asText(true)}>Text</button></div>
      <${Findings} findings=${all} go=${go} />
      ${text ? html`<label for="text">The description</label><textarea id="text" ref=${area} spellcheck=${false} rows="40" value=${job.text}
          onInput=${(event) => take({ text: event.target.value }, "typed")} />`
        : html`<form onFocusIn=${focus} onSubmit=${(event) => event.preventDefault()}>${form.map((section) => html`<section><h2>${section.title}</h2>
          ${section.fields.map((field) => html`<${Field} key=${field.key} field=${field} values=${look.values} said=${said} edit=${edit} />`)}</section>`)}</form>`}
    </div>
    <div class="right" tabindex="0" role="region" aria-label="Pictures">${look.old ? html`<p class="warning">The pictures are of the boat before the errors.</p>` : null}
      ${look.pictures.map((one) => html`<figure key=${one.name}><${Svg} text=${one.svg} active=${key} name=${one.name} /><figcaption>${one.title}</figcaption></figure>`)}</div>
  </div>`;
}
