// How does a preview become something to be seen: solid, glassy, cut open, coloured by a length?

import {
  BackSide,
  BufferAttribute,
  CylinderGeometry,
  DataTexture,
  DoubleSide,
  FrontSide,
  LatheGeometry,
  LinearFilter,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  SRGBColorSpace,
  Vector2,
  Vector3,
} from "three";
import { GLTFLoader } from "three/examples/jsm/loaders/GLTFLoader.js";

const UNKNOWN_UM = -32768;
const NO_LIMIT_MM = 1e6;
// Parts that fit into each other stay apart where they are cut.
const CUT_COLOURS = { abutment: 0x74828b };
const CUT_COLOUR = 0x3d4a52;
const AXIS = { radius_mm: 0.07, below_mm: 3, above_mm: 15 };

export class Surface {
  constructor(told, stage) {
    this.told = told;
    this.stage = stage;
    this.lengths = {};
    this.uniforms = {};
    for (const name of ["lightMm", "darkMm", "isOfSize", "isPainted"]) {
      this.uniforms[name] = { value: 0 };
    }
    this.uniforms.limitsMm = { value: new Vector2(NO_LIMIT_MM, NO_LIMIT_MM) };
    this.uniforms.ramp = { value: null };
  }

  async load() {
    const found = await new GLTFLoader().loadAsync(this.told.url);
    let mesh;
    found.scene.updateMatrixWorld(true);
    found.scene.traverse((one) => { if (one.isMesh) mesh = one; });
    const { geometry } = mesh;
    geometry.setAttribute("position", inMillimetres(geometry.attributes.position, mesh.matrixWorld));
    geometry.computeVertexNormals();
    // The file's own box counts steps.
    geometry.computeBoundingBox();
    geometry.computeBoundingSphere();
    const isCoated = Boolean(geometry.attributes.color);
    this.material = new MeshLambertMaterial({
      color: isCoated ? 0xffffff : this.told.colour,
      vertexColors: isCoated,
      side: this.told.is_solid ? FrontSide : DoubleSide,
    });
    // One program for all: whether it paints lengths is told with them.
    this.material.onBeforeCompile = (shader) => paintLengths(shader, this.uniforms);
    this.material.customProgramCacheKey = () => "lengths";
    this.object = new Mesh(geometry, this.material);
    this.object.userData.surface = this;
    // Seen through a cut, the far walls of a solid in one flat colour read as its section.
    const color = CUT_COLOURS[this.told.role] ?? CUT_COLOUR;
    this.inside = new Mesh(geometry, new MeshBasicMaterial({ color, side: BackSide }));
    this.inside.visible = false;
    this.object.add(this.inside);
    this.stage.surfaces.add(this.object);
    return this;
  }

  show(isShown) {
    this.object.visible = isShown;
    this.stage.ask();
  }

  setOpacity(share) {
    const { material } = this;
    const isGlassy = share < 0.99;
    Object.assign(material, { opacity: share, transparent: isGlassy, depthWrite: !isGlassy });
    this.object.renderOrder = isGlassy ? 1 : 0;
    this.stage.ask();
  }

  cut(plane) {
    const planes = plane ? [plane] : null;
    this.material.clippingPlanes = planes;
    this.inside.material.clippingPlanes = planes;
    this.inside.visible = Boolean(plane) && this.told.is_solid;
    this.stage.ask();
  }

  // Colour by a length; null shows the surface in its own colour.
  async colourBy(field, ramp) {
    this.field = field;
    if (field) {
      const { geometry } = this.object;
      this.lengths[field.name] ??= await lengthsOf(field.url);
      geometry.setAttribute("lengthMm", new BufferAttribute(this.lengths[field.name].mm, 1));
      geometry.setAttribute("isKnown", new BufferAttribute(this.lengths[field.name].known, 1));
      this.uniforms.ramp.value = ramp;
      this.uniforms.lightMm.value = field.light_mm;
      this.uniforms.darkMm.value = field.dark_mm;
      const [one, other] = field.limits.map((limit) => limit.mm);
      this.uniforms.limitsMm.value = new Vector2(one ?? NO_LIMIT_MM, other ?? NO_LIMIT_MM);
      this.uniforms.isOfSize.value = field.is_signed ? 1 : 0;
    }
    this.uniforms.isPainted.value = field ? 1 : 0;
    this.stage.ask();
  }

  lengthAt(hit) {
    const { mm, known } = this.lengths[this.field.name];
    const { a, b, c } = hit.face;
    const corners = this.object.geometry.attributes.position;
    const near = [a, b, c].sort((i, j) => off(corners, i, hit.point) - off(corners, j, hit.point));
    return known[near[0]] ? mm[near[0]] : null;
  }
}

function paintLengths(shader, uniforms) {
  Object.assign(shader.uniforms, uniforms);
  shader.vertexShader = shader.vertexShader
    .replace("#include <common>", `#include <common>
      attribute float lengthMm; attribute float isKnown;
      varying float vLength; varying float vKnown;`)
    .replace("#include <begin_vertex>", `#include <begin_vertex>
      vLength = lengthMm; vKnown = isKnown;`);
  shader.fragmentShader = shader.fragmentShader
    .replace("#include <common>", `#include <common>
      uniform sampler2D ramp; uniform float lightMm; uniform float darkMm;
      uniform vec2 limitsMm; uniform float isOfSize; uniform float isPainted;
      varying float vLength; varying float vKnown;`)
    .replace("#include <color_fragment>", `#include <color_fragment>
      if (isPainted > 0.5) {
        float shownMm = mix(vLength, abs(vLength), isOfSize);
        float share = clamp((shownMm - lightMm) / (darkMm - lightMm), 0.0, 1.0);
        vec3 painted = texture2D(ramp, vec2(share, 0.5)).rgb;
        vec2 off = abs(vec2(shownMm) - limitsMm);
        float away = min(off.x, off.y) / max(fwidth(shownMm), 1e-6);
        painted = mix(vec3(0.02), painted, smoothstep(0.6, 1.6, away));
        diffuseColor.rgb = mix(vec3(0.45), painted, step(0.999, vKnown));
      }`);
}

function off(corners, index, point) {
  return new Vector3().fromBufferAttribute(corners, index).distanceToSquared(point);
}

// Places come as 16-bit steps; every frame here counts millimetres.
function inMillimetres(steps, matrix) {
  const places = new Float32Array(3 * steps.count);
  const place = new Vector3();
  for (let i = 0; i < steps.count; i++) {
    place.fromBufferAttribute(steps, i).applyMatrix4(matrix).toArray(places, 3 * i);
  }
  return new BufferAttribute(places, 3);
}

async function lengthsOf(url) {
  const response = await fetch(url);
  if (!response.ok) throw new Error(`${url}: ${response.status}`);
  const um = new Int16Array(await response.arrayBuffer());
  return {
    mm: Float32Array.from(um, (value) => (value === UNKNOWN_UM ? 0 : value / 1000)),
    known: Float32Array.from(um, (value) => (value === UNKNOWN_UM ? 0 : 1)),
  };
}

export function rampOf(colours) {
  const data = new Uint8Array(4 * colours.length);
  colours.forEach((rgb, i) => data.set([...rgb, 255], 4 * i));
  const texture = new DataTexture(data, colours.length, 1);
  Object.assign(texture, { colorSpace: SRGBColorSpace, magFilter: LinearFilter, minFilter: LinearFilter });
  texture.needsUpdate = true;
  return texture;
}

// Axis, screw and driver of an implant, as solids of revolution on its axis.
export function solidsOf(implant) {
  const stand = standing(implant);
  const solids = { axis: axisOf(stand) };
  for (const [name, colour] of [["screw", 0x70747c], ["driver", 0xa0988c]]) {
    if (!implant[name]?.length) continue;
    const points = implant[name].map(([radius, height]) => new Vector2(radius, height));
    const ends = [new Vector2(0, points[0].y), ...points, new Vector2(0, points.at(-1).y)];
    solids[name] = placed(new LatheGeometry(ends, 48), colour, stand);
  }
  for (const object of Object.values(solids)) object.userData.site = implant.site;
  return solids;
}

function axisOf(stand) {
  const { radius_mm, below_mm, above_mm } = AXIS;
  const length = below_mm + above_mm;
  const geometry = new CylinderGeometry(radius_mm, radius_mm, length, 12);
  geometry.translate(0, (above_mm - below_mm) / 2, 0);
  return placed(geometry, 0x1e1e24, stand);
}

// Turned parts stand along y; an implant's axis is told in the frame of the scans.
function standing({ origin_mm, axis }) {
  const along = new Vector3(...axis).normalize();
  const across = new Vector3(1, 0, 0);
  if (Math.abs(across.dot(along)) > 0.9) across.set(0, 1, 0);
  across.cross(along).normalize();
  const other = new Vector3().crossVectors(across, along);
  return new Matrix4().makeBasis(across, along, other).setPosition(new Vector3(...origin_mm));
}

function placed(geometry, colour, stand) {
  const object = new Mesh(geometry, new MeshLambertMaterial({ color: colour, side: DoubleSide }));
  object.applyMatrix4(stand);
  return object;
}
