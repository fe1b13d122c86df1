// What does the page of a design do once its surfaces can be seen?

import { Vector3 } from "three";

import { askAbout } from "./asking.js";
import { legendOf } from "./legend.js";
import { Stage } from "./stage.js";
import { Surface, rampOf, solidsOf } from "./surfaces.js";
import { Pins, Ruler, Section, dotAt, onPress } from "./tools.js";

const BLINK_MS = 700;

class Look {
  constructor(root) {
    this.root = root;
    this.told = JSON.parse(document.getElementById("look-scene").textContent);
    this.words = this.told.words;
    this.stage = new Stage(this.part("canvas"), this.told.directions);
    this.ramp = rampOf(this.told.ramp);
    this.surfaces = [];
    this.solids = [];
  }

  part(name) {
    return this.root.querySelector(`[data-look="${name}"]`);
  }

  async start() {
    this.root.dataset.state = "loading";
    this.root.classList.add("is-live");
    const waiting = this.told.surfaces.map((told) => this.bring(told));
    this.addSolids();
    this.addPins();
    this.addTools();
    const failed = (await Promise.allSettled(waiting)).filter((one) => one.status === "rejected");
    if (failed.length) this.say(this.words.not_loaded);
    this.home(true);
    this.stage.onDrawn(() => { this.root.dataset.state = "shown"; });
    this.stage.ask();
  }

  async bring(told) {
    const surface = await new Surface(told, this.stage).load();
    // As the controls stand by now: somebody may have been quicker, or a browser kept them.
    surface.show(this.root.querySelector(`[data-show="${told.name}"]`).checked);
    surface.setOpacity(this.root.querySelector(`[data-opacity="${told.name}"]`).value / 100);
    this.surfaces.push(surface);
    // The first picture waits for nothing else.
    if (!this.isFramed) this.home(true);
    this.isFramed = true;
  }

  shown() {
    return this.surfaces.filter((one) => one.object.visible);
  }

  subject() {
    const work = this.surfaces.filter((one) => one.told.is_solid && one.object.visible);
    return (work.length ? work : this.shown()).map((one) => one.object);
  }

  home(atOnce = false) {
    const { front, up } = this.stage;
    const side = this.told.directions.outward ? new Vector3(...this.told.directions.outward) : front;
    const toward = side.clone().addScaledVector(up, this.told.directions.is_upper ? -0.6 : 0.6);
    this.stage.frame(this.subject(), toward, { atOnce });
  }

  say(sentence) {
    this.part("said").textContent = sentence;
  }

  addSolids() {
    for (const implant of this.told.implants) {
      const solids = solidsOf(implant);
      this.solids.push({ implant, solids });
      this.stage.solids.add(...Object.values(solids));
    }
    this.showSolids();
  }

  showSolids() {
    for (const { solids } of this.solids) {
      for (const [name, object] of Object.entries(solids)) {
        object.visible = this.root.querySelector(`[data-solid="${name}"]`)?.checked ?? true;
      }
    }
    this.stage.ask();
  }

  addPins() {
    this.pins = new Pins(this.stage, this.part("pins"));
    for (const row of this.told.pins) {
      const beside = document.getElementById(row.id);
      const go = () => beside?.scrollIntoView({ block: "nearest" });
      const pin = this.pins.add({ ...row, go });
      const button = beside?.querySelector("[data-fly]");
      if (!button) continue;
      button.hidden = false;
      button.addEventListener("click", () => {
        this.pins.flyTo(pin);
        this.part("canvas").scrollIntoView({ block: "nearest" });
      });
    }
  }

  addTools() {
    const { root, stage } = this;
    for (const button of root.querySelectorAll("[data-view]")) {
      button.addEventListener("click", () => this.view(button.dataset.view));
    }
    for (const box of root.querySelectorAll("[data-show]")) {
      box.addEventListener("change", () => this.named(box.dataset.show)?.show(box.checked));
    }
    for (const slider of root.querySelectorAll("[data-opacity]")) {
      slider.addEventListener("input", () => {
        this.named(slider.dataset.opacity)?.setOpacity(slider.value / 100);
      });
    }
    for (const box of root.querySelectorAll("[data-solid]")) {
      box.addEventListener("change", () => this.showSolids());
    }
    this.addSection();
    this.addFields();
    this.addPressing();
    this.addBlink();
    this.addAsking();
    this.part("canvas").addEventListener("keydown", (event) => this.key(event));
    stage.renderer.domElement.addEventListener("webglcontextlost", () => {
      this.say(this.words.context_lost);
    });
  }

  named(name) {
    return this.surfaces.find((one) => one.told.name === name);
  }

  view(name) {
    const { stage } = this;
    const work = this.subject();
    const { up, front, left } = stage;
    const towards = {
      front,
      left,
      right: left.clone().negate(),
      occlusal: up.clone().multiplyScalar(this.told.directions.is_upper ? -1 : 1),
    };
    if (name === "home") return this.home();
    if (name === "all") return stage.frame(this.shown().map((one) => one.object), stage.toward());
    if (towards[name]) return stage.frame(work, towards[name]);
    const implant = this.told.implants.find((one) => one.site === name);
    const along = new Vector3(...implant.axis);
    stage.fly(new Vector3(...implant.origin_mm).addScaledVector(along, 4), along, 18);
  }

  addSection() {
    const kind = this.part("section");
    const slider = this.part("depth");
    this.section = new Section(this.stage, () => this.surfaces, slider);
    kind.addEventListener("change", () => {
      slider.disabled = !kind.value;
      if (!kind.value) return this.section.close();
      const { stage } = this;
      if (kind.value === "view") return this.section.through(stage.controls.target, stage.toward());
      const implant = this.told.implants.find((one) => one.site === kind.value);
      const axis = new Vector3(...implant.axis).normalize();
      const middle = new Vector3(...implant.origin_mm).addScaledVector(axis, 4);
      const toward = stage.toward();
      toward.addScaledVector(axis, -toward.dot(axis));
      if (toward.length() < 0.1) toward.copy(stage.front).addScaledVector(axis, -stage.front.dot(axis));
      this.section.through(middle, toward);
      stage.fly(middle, toward, 24);
    });
    slider.addEventListener("input", () => this.section.move());
  }

  addFields() {
    const choice = this.part("field");
    choice?.addEventListener("change", async () => {
      const legend = this.part("legend");
      legend.replaceChildren();
      const coloured = this.surfaces.filter((one) => one.told.fields.length);
      try {
        await Promise.all(coloured.map((one) => {
          const field = one.told.fields.find((row) => row.name === choice.value);
          return one.colourBy(field ?? null, this.ramp);
        }));
      } catch {
        this.say(this.words.not_loaded);
        return;
      }
      const field = coloured.flatMap((one) => one.told.fields).find((row) => row.name === choice.value);
      if (field) legend.append(legendOf(field, this.told.ramp));
      this.say(field ? this.words.press_for_value : "");
    });
  }

  addPressing() {
    this.ruler = new Ruler(this.stage, (mm) => {
      this.say(mm === null ? this.words.second_place : `${mm.toFixed(2)} mm. ${this.words.on_preview}`);
    });
    for (const box of this.root.querySelectorAll("[data-tool]")) {
      box.addEventListener("change", () => {
        this.ruler.clear();
        this.say(this.words[box.value] ?? "");
      });
    }
    onPress(this.stage, () => this.shown(), (hit) => this.press(hit));
  }

  press(hit) {
    const tool = this.root.querySelector("[data-tool]:checked")?.value ?? "turn";
    const { surface } = hit.object.userData;
    if (tool === "ruler") return this.ruler.take(hit);
    if (tool === "mark") return this.mark(hit, surface);
    if (tool === "point") return this.point(hit, surface);
    if (!surface.field) return;
    const mm = surface.lengthAt(hit);
    const { title } = surface.field;
    this.say(mm === null ? `${title}: ${this.words.not_known}` : `${title}: ${mm.toFixed(2)} mm`);
  }

  point(hit, surface) {
    if (surface.told.role !== "working_arch_scan_bodies") return this.say(this.words.point_elsewhere);
    const form = document.querySelector("[data-look='point-form']");
    form.elements.place.value = inWords(hit.point, 3);
    form.elements.file.value = surface.told.number;
    this.setDot(hit.point);
    this.say(this.words.point_placed);
    form.closest("details").open = true;
    form.elements.site.focus();
  }

  setDot(place) {
    if (this.dot) this.stage.drawn.remove(this.dot);
    this.dot = dotAt(place);
    this.stage.drawn.add(this.dot);
    this.stage.ask();
  }

  mark(hit, surface) {
    const form = document.querySelector("[data-look='mark-form']");
    form.elements.place.value = inWords(hit.point, 3);
    form.elements.facing.value = inWords(hit.face.normal.clone().normalize(), 4);
    form.elements.part.value = surface.told.part ?? "";
    this.setDot(hit.point);
    this.say(this.words.mark_placed);
    form.elements.text.focus();
  }

  addAsking() {
    const button = this.part("ask");
    if (!button) return;
    const copy = () => {
      const canvas = this.stage.copy();
      this.pins.drawOn(canvas, canvas.width / this.part("canvas").clientWidth);
      return canvas;
    };
    askAbout(button, copy, () => this.say(this.words.not_carried));
  }

  addBlink() {
    const box = this.part("blink");
    box?.addEventListener("change", () => {
      clearInterval(this.blinking);
      const before = this.surfaces.filter((one) => one.told.role === "previous_version");
      const now = before.map((one) => this.named(one.told.of)).filter(Boolean);
      const set = (isBefore) => {
        for (const one of before) one.show(isBefore);
        for (const one of now) one.show(!isBefore);
        this.say(isBefore ? this.words.version_before : this.words.version_now);
      };
      let isBefore = box.checked;
      set(isBefore);
      if (!box.checked) return this.say("");
      if (matchMedia("(prefers-reduced-motion: reduce)").matches) return;
      this.blinking = setInterval(() => set((isBefore = !isBefore)), BLINK_MS);
    });
  }

  key(event) {
    const turns = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (turns[event.key]) this.stage.turn(...turns[event.key]);
    else if (event.key === "+" || event.key === "=") this.stage.zoom(1.2);
    else if (event.key === "-") this.stage.zoom(1 / 1.2);
    else return;
    event.preventDefault();
  }
}

// Three numbers as a form sends them.
function inWords(vector, decimals) {
  return vector.toArray().map((x) => x.toFixed(decimals)).join(" ");
}

const root = document.querySelector("[data-look-root]");
if (root) {
  try {
    new Look(root).start();
  } catch (problem) {
    // Without WebGL the pictures and the table on the page say the same.
    root.dataset.state = "absent";
    console.warn(problem);
  }
}
