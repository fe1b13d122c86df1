// Which colour stands for which length, and where is the limit?

const MOST_TICKS = 6;
const STEPS_MM = [0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1, 2, 5];

export function legendOf(field, colours) {
  const box = document.createElement("div");
  box.className = "look-legend";
  const stops = colours.filter((_rgb, i) => i % 16 === 0 || i === colours.length - 1);
  const bar = document.createElement("div");
  bar.className = "look-ramp";
  bar.style.background = `linear-gradient(to right, ${stops.map((rgb) => `rgb(${rgb})`).join(", ")})`;
  const { light_mm, dark_mm } = field;
  const shareOf = (mm) => (mm - light_mm) / (dark_mm - light_mm);
  for (const mm of ticksBetween(light_mm, dark_mm)) bar.append(labelled("tick", shareOf(mm), mm));
  for (const { mm, words } of field.limits) {
    bar.append(labelled("limit", shareOf(mm), mm, ` ${words}`));
  }
  const title = document.createElement("p");
  title.textContent = field.legend;
  box.append(title, bar);
  return box;
}

// Round lengths between two, a handful of them.
function ticksBetween(one, other) {
  const [low, high] = [Math.min(one, other), Math.max(one, other)];
  const step = STEPS_MM.find((mm) => (high - low) / mm < MOST_TICKS) ?? STEPS_MM.at(-1);
  const first = Math.ceil(low / step - 1e-9);
  const count = Math.floor(high / step + 1e-9) - first + 1;
  return Array.from({ length: count }, (_one, i) => (first + i) * step);
}

function labelled(kind, share, mm, words = "") {
  const mark = document.createElement("span");
  mark.className = `look-${kind}`;
  mark.style.left = `${100 * share}%`;
  mark.textContent = mm.toFixed(2).replace("-", "\u2212") + words;
  return mark;
}
