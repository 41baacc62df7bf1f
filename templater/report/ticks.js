
// Boxes that were ticked stay ticked; where the browser keeps nothing, they are as new each time.
(() => {
  const boxes = [...document.querySelectorAll("input[type=checkbox]")], key = document.body.dataset.key;
  const keep = () => {
    try { localStorage.setItem(key, boxes.map(box => box.checked ? 1 : 0).join("")); } catch { /* forbidden or full */ }
  };
  try {
    const kept = localStorage.getItem(key) || "";
    boxes.forEach((box, n) => { box.checked = kept[n] === "1"; });
  } catch { /* forbidden */ }
  boxes.forEach(box => box.addEventListener("change", keep));
})();
