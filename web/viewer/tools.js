// Pins, section, ruler and the mark: what a person does in the picture.

import {
  BufferGeometry,
  Line,
  LineBasicMaterial,
  Mesh,
  MeshBasicMaterial,
  SphereGeometry,
  Vector3,
} from "three";

const PRESS_PX = 5; // a pointer that moves farther turns the view
const NEAR_MM = 14; // shown across where a place is flown to
const DOT_MM = 0.25;

export class Pins {
  constructor(stage, layer, flown) {
    Object.assign(this, { stage, layer, flown, pins: [] });
    stage.onDrawn(() => this.place());
  }

  add({ number, label, place_mm, toward, kind, go }) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = `look-pin ${kind}`;
    button.textContent = number;
    button.setAttribute("aria-label", label);
    const pin = { button, at: new Vector3(...place_mm), toward: toward && new Vector3(...toward) };
    button.addEventListener("click", () => { this.flyTo(pin); go?.(); });
    this.layer.append(button);
    this.pins.push(pin);
    return pin;
  }

  flyTo(pin) {
    this.stage.fly(pin.at, pin.toward ?? this.stage.toward(), NEAR_MM);
    for (const one of this.pins) one.button.classList.toggle("chosen", one === pin);
    this.flown?.(pin);
  }

  place() {
    for (const { button, at } of this.pins) {
      const { x, y, isInside } = this.stage.onScreen(at);
      button.hidden = !isInside;
      button.style.transform = `translate(${x}px, ${y}px) translate(-50%, -50%)`;
    }
  }

  // The pins that are seen, onto a copy of the picture that is `scale` times as large.
  drawOn(canvas, scale) {
    const brush = canvas.getContext("2d");
    Object.assign(brush, { textAlign: "center", textBaseline: "middle", lineWidth: 2 * scale });
    for (const { button, at } of this.pins) {
      const { x, y, isInside } = this.stage.onScreen(at);
      if (!isInside) continue;
      const look = getComputedStyle(button);
      brush.font = `700 ${parseFloat(look.fontSize) * scale}px ${look.fontFamily}`;
      brush.beginPath();
      brush.arc(x * scale, y * scale, (button.offsetHeight / 2) * scale, 0, 2 * Math.PI);
      brush.fillStyle = look.backgroundColor;
      brush.fill();
      brush.strokeStyle = look.borderColor;
      brush.stroke();
      brush.fillStyle = look.color;
      brush.fillText(button.textContent, x * scale, y * scale);
    }
  }
}

// A press that is no drag, on a surface: `hear` gets what lies there.
export function onPress(stage, surfaces, hear) {
  const canvas = stage.renderer.domElement;
  let began = null;
  canvas.addEventListener("pointerdown", (event) => {
    began = event.isPrimary ? { x: event.clientX, y: event.clientY } : null;
  });
  canvas.addEventListener("pointerup", (event) => {
    if (!began || Math.hypot(event.clientX - began.x, event.clientY - began.y) > PRESS_PX) return;
    const hit = stage.under(event, surfaces().map((one) => one.object));
    if (hit) hear(hit);
  });
}

export class Section {
  constructor(stage, surfaces, slider) {
    Object.assign(this, { stage, surfaces, slider });
  }

  // Cut across a direction through a place; what lies toward the viewer goes.
  through(place, toward) {
    this.place = place.clone();
    this.normal = toward.clone().normalize().negate();
    this.slider.value = 0;
    this.move();
  }

  move() {
    const at = this.place.clone().addScaledVector(this.normal, -Number(this.slider.value));
    this.stage.plane.setFromNormalAndCoplanarPoint(this.normal, at);
    this.stage.isCut = true;
    for (const one of this.surfaces()) one.cut(this.stage.plane);
  }

  close() {
    this.stage.isCut = false;
    for (const one of this.surfaces()) one.cut(null);
  }
}

export class Ruler {
  constructor(stage, say) {
    Object.assign(this, { stage, say, places: [], drawn: [] });
  }

  take(hit) {
    if (this.places.length === 2) this.clear();
    this.places.push(hit.point.clone());
    this.draw(dotAt(hit.point));
    if (this.places.length < 2) return this.say(null);
    const geometry = new BufferGeometry().setFromPoints(this.places);
    const line = new Line(geometry, new LineBasicMaterial({ color: 0x8a3b12, depthTest: false }));
    line.renderOrder = 3;
    this.draw(line);
    this.say(this.places[0].distanceTo(this.places[1]));
  }

  draw(object) {
    this.stage.drawn.add(object);
    this.drawn.push(object);
    this.stage.ask();
  }

  clear() {
    for (const object of this.drawn) this.stage.drawn.remove(object);
    Object.assign(this, { places: [], drawn: [] });
    this.stage.ask();
  }
}

export function dotAt(place) {
  const material = new MeshBasicMaterial({ color: 0x8a3b12, depthTest: false });
  const dot = new Mesh(new SphereGeometry(DOT_MM, 16, 12), material);
  dot.position.copy(place);
  dot.renderOrder = 3;
  return dot;
}
