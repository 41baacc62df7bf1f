// The boat: fields in the order in which one measures, pictures beside them, and the text that both write.

// Each finding stands at the field whose key comes nearest to its own.
const keysOf = (field) => [field.key, ...(field.kind === "keys" ? field.fields.flatMap(keysOf) : [])];
const LISTS = FORM.flatMap((section) => section.fields).flatMap(function lists(field) {
  return field.kind === "list" ? [field] : field.kind === "keys" ? field.fields.flatMap(lists) : [];
});
const KEYS = new Set(FORM.flatMap((section) => section.fields.flatMap(keysOf)));

function fieldOf(key) {
  const list = LISTS.find((one) => key.startsWith(`${one.key}.`));
  const [number, ...rest] = list ? key.slice(list.key.length + 1).split(".") : [];
  const below = list?.fields.flatMap(keysOf).filter((one) => under(rest.join("."), one)).pop();
  if (below) return `${list.key}.${number}.${below}`;
  let found = key;
  while (found && !KEYS.has(found)) found = found.slice(0, Math.max(0, found.lastIndexOf(".")));
  return found;
}

export function Findings({ findings, go }) {
  if (!work.look.values || (work.look.open && !findings.length)) return html`<p role="status">The boat is being looked at.</p>`;
  if (!findings.length) return html`<p class="none" role="status">Nothing found: the boat can be made.</p>`;
  return html`<ul class="findings" role="status">${findings.map((one) => html`<li class=${one.severity}>
    <button type="button" onClick=${() => go(one)}><b>${one.severity}</b> ${one.line ? `line ${one.line}: ` : ""}${one.key}
    ${" "}${one.text}</button></li>`)}</ul>`;
}

export function Boat() {
  const [text, asText] = useState(false);
  const { look, job, key } = work;
  const findings = look.findings.map((one) => ({ ...one, field: fieldOf(one.key) }));
  const area = useRef();
  const goLine = ({ line }) => {
    const lines = area.current.value.split("\n");
    const start = lines.slice(0, line - 1).join("\n").length + (line > 1 ? 1 : 0);
    area.current.focus();
    area.current.setSelectionRange(start, start + (lines[line - 1] ?? "").length);
    area.current.scrollTop = (line - 5) * (area.current.scrollHeight / lines.length);
  };
  const goField = ({ field }) => {
    const box = document.getElementById(idOf(field)) ?? document.querySelector("form input");
    box.focus();
    box.scrollIntoView({ block: "center" });
  };
  const focus = ({ target }) => {
    const name = target.closest("[data-key]")?.dataset.key ?? "";
    const rest = target.id.slice(idOf(name).length).replaceAll("-", ".");
    work.key = /^[.\d]+$/.test(rest) ? name + rest : name;
    draw();
  };
  const said = (name) => findings.filter((one) => one.field === name);
  const fields = () => html`<form onfocusin=${focus} onSubmit=${(event) => event.preventDefault()}>${FORM.map((section) =>
    html`<section><h2>${section.title}</h2>${section.fields.map((field) => html`<${Field} key=${field.key} field=${field}
      values=${look.values} said=${said} edit=${edit} pictures=${look.pictures} />`)}</section>`)}</form>`;
  return html`<div class="boat">
    <div class="left">
      <div class="bar"><button type="button" aria-pressed=${String(!text)} onClick=${() => asText(false)}>Fields</button>
        <button type="button" id="as-text" aria-pressed=${String(text)} onClick=${() => asText(true)}>Text</button></div>
      <${Findings} findings=${findings} go=${text ? goLine : goField} />
      ${text ? html`<label for="text">The description</label>
          <textarea id="text" ref=${area} spellcheck=${false} rows="40" value=${job.text}
            onInput=${(event) => take({ text: event.target.value }, "typed")} />`
        : look.values ? fields() : null}
    </div>
    <div class="right" tabindex="0" role="region" aria-label="Pictures">
      ${look.old ? html`<p class="warning">The pictures are of the boat before the errors.</p>` : null}
      ${look.pictures.map((one) => html`<figure key=${one.name}><${Svg} text=${one.svg} active=${key} name=${one.name} />
        <figcaption>${one.title}</figcaption></figure>`)}</div>
  </div>`;
}
