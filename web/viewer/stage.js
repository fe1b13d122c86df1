// Where do surfaces stand, how are they lit, and from where are they seen?

import {
  AmbientLight,
  Box3,
  Color,
  DirectionalLight,
  Group,
  OrthographicCamera,
  Plane,
  Quaternion,
  Raycaster,
  Scene,
  Spherical,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";

const FLIGHT_MS = 350;
const STEP_RAD = Math.PI / 18;
const FAR_MM = 400;
const FRAMED = 0.9; // of the diagonal of what is framed
const ON_CUT_MM = 1; // a place so near to a section is shown on it

export class Stage {
  constructor(holder, directions) {
    this.holder = holder;
    this.up = new Vector3(...directions.up);
    this.front = new Vector3(...directions.front);
    this.left = new Vector3().crossVectors(this.up, this.front);
    this.renderer = new WebGLRenderer({ antialias: true });
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer.localClippingEnabled = true;
    holder.append(this.renderer.domElement);
    this.scene = new Scene();
    this.surfaces = new Group();
    this.solids = new Group();
    this.drawn = new Group();
    this.scene.add(this.surfaces, this.solids, this.drawn, new AmbientLight(0xffffff, 0.9));
    this.camera = new OrthographicCamera(-1, 1, 1, -1, -FAR_MM, FAR_MM);
    this.camera.up.copy(this.up);
    const light = new DirectionalLight(0xffffff, 2.2);
    light.position.set(0.4, 0.7, 1);
    this.camera.add(light, light.target);
    light.target.position.set(0, 0, -1);
    this.scene.add(this.camera);
    this.controls = new OrbitControls(this.camera, this.renderer.domElement);
    this.controls.addEventListener("change", () => this.ask());
    this.plane = new Plane(new Vector3(0, 0, -1), 0);
    this.heard = [];
    new ResizeObserver(() => this.resize()).observe(holder);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.paint());
    this.paint();
    this.resize();
  }

  // Whoever wants to know that something was drawn.
  onDrawn(hear) {
    this.heard.push(hear);
  }

  paint() {
    const ground = getComputedStyle(this.holder).backgroundColor;
    this.scene.background = new Color(ground);
    this.ask();
  }

  resize() {
    const { clientWidth: wide, clientHeight: tall } = this.holder;
    if (!wide || !tall) return;
    this.renderer.setSize(wide, tall);
    this.fitFrustum();
  }

  fitFrustum() {
    const { clientWidth: wide, clientHeight: tall } = this.holder;
    const half = (this.shownMm ?? 60) / 2;
    const [x, y] = wide < tall ? [half, (half * tall) / wide] : [(half * wide) / tall, half];
    Object.assign(this.camera, { left: -x, right: x, top: y, bottom: -y });
    this.camera.updateProjectionMatrix();
    this.ask();
  }

  // Draw once before the next frame is shown, however often it is asked for.
  ask() {
    if (this.asked) return;
    this.asked = true;
    requestAnimationFrame(() => {
      this.asked = false;
      this.renderer.render(this.scene, this.camera);
      for (const hear of this.heard) hear();
    });
  }

  // What is seen, on a canvas of its own: of a picture once shown the browser keeps nothing.
  copy() {
    this.renderer.render(this.scene, this.camera);
    const seen = this.renderer.domElement;
    const canvas = document.createElement("canvas");
    Object.assign(canvas, { width: seen.width, height: seen.height });
    canvas.getContext("2d").drawImage(seen, 0, 0);
    return canvas;
  }

  box(objects) {
    const box = new Box3();
    for (const object of objects) if (object.visible) box.expandByObject(object);
    return box;
  }

  // Show all of some objects from a direction that points from them to the viewer.
  frame(objects, toward, { atOnce = false } = {}) {
    const box = this.box(objects.length ? objects : this.surfaces.children);
    if (box.isEmpty()) return;
    const size = box.getSize(new Vector3()).length();
    this.fly(box.getCenter(new Vector3()), toward, FRAMED * size, atOnce);
  }

  fly(target, toward, shownMm, atOnce = false) {
    const to = this.upright(toward);
    const from = {
      target: this.controls.target.clone(),
      offset: this.camera.position.clone().sub(this.controls.target).normalize(),
      shown: (this.shownMm ?? shownMm) / this.camera.zoom,
    };
    this.shownMm = shownMm;
    const still = atOnce || matchMedia("(prefers-reduced-motion: reduce)").matches;
    const began = performance.now();
    cancelAnimationFrame(this.flight);
    const move = (now) => {
      const share = still ? 1 : Math.min((now - began) / FLIGHT_MS, 1);
      const eased = share * share * (3 - 2 * share);
      const offset = from.offset.clone().lerp(to, eased);
      if (offset.length() < 0.05) offset.copy(this.front);
      this.controls.target.copy(from.target).lerp(target, eased);
      this.camera.position.copy(this.controls.target).addScaledVector(offset.normalize(), 100);
      this.shownMm = from.shown + (shownMm - from.shown) * eased;
      this.camera.zoom = 1;
      this.fitFrustum();
      this.controls.update();
      if (share < 1) this.flight = requestAnimationFrame(move);
    };
    move(began);
  }

  // A direction along `up` has no side of its own: lean it a little to the front.
  upright(toward) {
    const to = toward.clone().normalize();
    if (Math.abs(to.dot(this.up)) > 0.999) to.addScaledVector(this.front, 0.02).normalize();
    return to;
  }

  toward() {
    return this.camera.position.clone().sub(this.controls.target).normalize();
  }

  turn(right, up) {
    const { target } = this.controls;
    // The angles of a sphere are counted from y.
    const upright = new Quaternion().setFromUnitVectors(this.up, new Vector3(0, 1, 0));
    const offset = this.camera.position.clone().sub(target).applyQuaternion(upright);
    const round = new Spherical().setFromVector3(offset);
    round.theta -= right * STEP_RAD;
    round.phi -= up * STEP_RAD;
    offset.setFromSpherical(round.makeSafe()).applyQuaternion(upright.invert());
    this.camera.position.copy(target).add(offset);
    this.controls.update();
    this.ask();
  }

  zoom(factor) {
    this.camera.zoom = Math.min(Math.max(this.camera.zoom * factor, 0.2), 60);
    this.camera.updateProjectionMatrix();
    this.ask();
  }

  // What of some objects lies under a place of the page, nearest first; cut-away parts are not.
  under(event, objects) {
    const { left, top, width, height } = this.renderer.domElement.getBoundingClientRect();
    const at = new Vector2(
      ((event.clientX - left) / width) * 2 - 1,
      1 - ((event.clientY - top) / height) * 2,
    );
    const ray = new Raycaster();
    ray.setFromCamera(at, this.camera);
    // An orthographic camera sees what is behind it, too.
    ray.ray.origin.addScaledVector(ray.ray.direction, -FAR_MM);
    const hits = ray.intersectObjects(objects.filter((one) => one.visible), false);
    return hits.find((hit) => this.isKept(hit.point));
  }

  // Does a section leave a place standing?
  isKept(place, slackMm = 0) {
    return !this.isCut || this.plane.distanceToPoint(place) >= -slackMm;
  }

  // Where a place stands in the picture, in its pixels; behind the section it is not shown.
  onScreen(place) {
    const { clientWidth: wide, clientHeight: tall } = this.holder;
    const at = place.clone().project(this.camera);
    return {
      x: ((at.x + 1) / 2) * wide,
      y: ((1 - at.y) / 2) * tall,
      isInside: Math.abs(at.x) <= 1 && Math.abs(at.y) <= 1 && this.isKept(place, ON_CUT_MM),
    };
  }
}
