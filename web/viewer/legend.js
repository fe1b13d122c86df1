// Which colour stands for which length, and where is the limit?

const TICKS = 4;

export function legendOf(field, colours) {
  const box = document.createElement("div");
  box.className = "look-legend";
  const stops = colours.filter((_rgb, i) => i % 16 === 0 || i === colours.length - 1);
  const bar = document.createElement("div");
  bar.className = "look-ramp";
  bar.style.background = `linear-gradient(to right, ${stops.map((rgb) => `rgb(${rgb})`).join(", ")})`;
  const { light_mm, dark_mm, limit_mm } = field;
  for (let i = 0; i <= TICKS; i++) {
    const mm = light_mm + ((dark_mm - light_mm) * i) / TICKS;
    bar.append(labelled("tick", i / TICKS, mm.toFixed(2)));
  }
  if (limit_mm !== null) {
    const share = (limit_mm - light_mm) / (dark_mm - light_mm);
    if (share >= 0 && share <= 1) bar.append(labelled("limit", share, limit_mm.toFixed(2)));
  }
  const title = document.createElement("p");
  title.textContent = field.legend;
  box.append(title, bar);
  return box;
}

function labelled(kind, share, text) {
  const mark = document.createElement("span");
  mark.className = `look-${kind}`;
  mark.style.left = `${100 * share}%`;
  mark.textContent = text;
  return mark;
}
