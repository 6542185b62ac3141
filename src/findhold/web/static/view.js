// A find's scan in its box, to be turned about. Loaded on that page only; without WebGL the page's section stands.
import * as three from "/static/vendor/three/three.module.min.js";

const place = document.querySelector("#view");
const told = document.querySelector("#view-told");
const STEP = Math.PI / 12;

/** @param {string} words */
function tell(words) {
  told.textContent = words;
}

/** Corners and triangles of the page's scan. */
async function read(address) {
  const answer = await fetch(address, { credentials: "same-origin" });
  if (!answer.ok) throw new Error("The scan could not be read from the ledger; below is the section.");
  const data = await answer.arrayBuffer();
  if (new TextDecoder().decode(data.slice(0, 4)) !== "FHV1") throw new Error("The scan came in a form that is not known.");
  const [corners, triangles] = new Uint32Array(data, 4, 2);
  return {
    corners: new Float32Array(data, 12, 3 * corners),
    triangles: new Uint32Array(data, 12 + 12 * corners, 3 * triangles),
    count: triangles,
  };
}

/** A colour of the house, by day or by night. */
function house(name) {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

const numbers = (name) => (place.dataset[name] ?? "").split(" ").filter(Boolean).map(Number);

/** The scan as a solid with its light. */
function solid(scan) {
  const shape = new three.BufferGeometry();
  shape.setAttribute("position", new three.BufferAttribute(scan.corners, 3));
  shape.setIndex(new three.BufferAttribute(scan.triangles, 1));
  shape.computeVertexNormals();
  shape.computeBoundingBox();
  return new three.Mesh(shape, new three.MeshLambertMaterial({ color: "#b9ab93", side: three.DoubleSide }));
}

/** Lines along the edges of a block, and its faint walls. */
function block(size, at, ink, walls) {
  const group = new three.Group();
  const shape = new three.BoxGeometry(...size);
  group.add(new three.LineSegments(new three.EdgesGeometry(shape), new three.LineBasicMaterial({ color: ink })));
  if (walls > 0) {
    const thin = new three.MeshBasicMaterial({ color: ink, transparent: true, opacity: walls, depthWrite: false, side: three.DoubleSide });
    group.add(new three.Mesh(shape, thin));
  }
  group.position.set(at[0] + size[0] / 2, at[1] + size[1] / 2, at[2] + size[2] / 2);
  return group;
}

class View {
  constructor(scan) {
    this.renderer = new three.WebGLRenderer({ antialias: true, alpha: true });
    this.scene = new three.Scene();
    this.camera = new three.OrthographicCamera();
    this.labels = [];
    this.mesh = solid(scan);
    this.scene.add(this.mesh, new three.AmbientLight("#ffffff", 1.5));
    this.lamp = new three.DirectionalLight("#ffffff", 2.2);
    this.scene.add(this.lamp);
    this.furnish();
    place.append(this.renderer.domElement);
    this.scale = document.createElement("p");
    this.scale.className = "view-scale";
    place.append(this.scale);
    const canvas = this.renderer.domElement;
    canvas.tabIndex = 0;
    canvas.setAttribute("role", "application");
    canvas.setAttribute("aria-label", `Find ${place.dataset.number} in its box. Arrow keys turn it, plus and minus bring it nearer or farther, Home sets it back.`);
    this.home();
    this.listen(canvas);
    new ResizeObserver(() => this.draw()).observe(place);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => location.reload());
  }

  /** Box, bed and dimensions round the scan. */
  furnish() {
    const ink = house("--ink");
    const inside = numbers("inside");
    const box = this.mesh.geometry.boundingBox;
    const size = box.getSize(new three.Vector3());
    if (inside.length === 3) {
      const [length, width, height] = inside;
      const bed = Number(place.dataset.bed);
      this.scene.add(block(inside, [0, 0, 0], ink, 0.035));
      this.scene.add(block([length, width, bed], [0, 0, 0], ink, 0.1));
      this.middle = new three.Vector3(length / 2, width / 2, height / 2);
      this.reach = Math.hypot(length, width, height) / 2;
      this.label([length / 2, 0, 0], `${length} mm`);
      this.label([length, width / 2, 0], `${width} mm`);
      this.label([0, 0, height / 2], `${height} mm inside`);
      this.label([length * 0.14, 0, bed / 2], `bed ${bed} mm`);
      this.label([length / 2, 0, height], `lid gap ${Number(place.dataset.gap)} mm`);
    } else {
      this.middle = box.getCenter(new three.Vector3());
      this.reach = size.length() / 2;
      this.label([this.middle.x, box.min.y, box.min.z], `${Math.round(size.x)} mm`);
      this.label([box.max.x, this.middle.y, box.min.z], `${Math.round(size.y)} mm`);
      this.label([box.min.x, box.min.y, this.middle.z], `${Math.round(size.z)} mm`);
    }
  }

  label(at, words) {
    const made = document.createElement("span");
    made.className = "view-label";
    made.textContent = words;
    place.append(made);
    this.labels.push({ at: new three.Vector3(...at), made });
  }

  home() {
    this.round = -Math.PI / 3;
    this.tilt = Math.PI / 7;
    this.zoom = 1;
    this.draw();
  }

  /** @param {string} what */
  act(what) {
    const doing = {
      left: () => (this.round -= STEP),
      right: () => (this.round += STEP),
      up: () => (this.tilt += STEP),
      down: () => (this.tilt -= STEP),
      nearer: () => (this.zoom *= 1.2),
      farther: () => (this.zoom /= 1.2),
      side: () => ((this.round = -Math.PI / 2), (this.tilt = 0)),
      above: () => ((this.round = -Math.PI / 2), (this.tilt = Math.PI / 2)),
      home: () => this.home(),
    }[what];
    if (!doing) return false;
    doing();
    this.draw();
    return true;
  }

  listen(canvas) {
    const keys = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", "+": "nearer", "=": "nearer", "-": "farther", Home: "home" };
    canvas.addEventListener("keydown", (event) => {
      if (!event.ctrlKey && !event.metaKey && !event.altKey && keys[event.key] && this.act(keys[event.key])) event.preventDefault();
    });
    let last = null;
    canvas.addEventListener("pointerdown", (event) => {
      last = [event.clientX, event.clientY];
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (!last) return;
      this.round -= (event.clientX - last[0]) / 150;
      this.tilt += (event.clientY - last[1]) / 150;
      last = [event.clientX, event.clientY];
      this.draw();
    });
    for (const end of ["pointerup", "pointercancel"]) canvas.addEventListener(end, () => (last = null));
    for (const button of document.querySelectorAll("#view-buttons [data-do]")) {
      button.addEventListener("click", () => this.act(button.dataset.do));
    }
  }

  draw() {
    const wide = place.clientWidth;
    const high = place.clientHeight;
    if (!wide || !high) return;
    this.tilt = Math.min(Math.max(this.tilt, -Math.PI / 2), Math.PI / 2);
    this.zoom = Math.min(Math.max(this.zoom, 0.4), 8);
    const mm = (1.12 * this.reach) / this.zoom / Math.min(wide, high) * 2;
    Object.assign(this.camera, { left: (-wide * mm) / 2, right: (wide * mm) / 2, top: (high * mm) / 2, bottom: (-high * mm) / 2, near: 0.1, far: 8 * this.reach });
    const away = new three.Vector3(Math.cos(this.tilt) * Math.cos(this.round), Math.cos(this.tilt) * Math.sin(this.round), Math.sin(this.tilt));
    this.camera.up.set(-Math.sin(this.tilt) * Math.cos(this.round), -Math.sin(this.tilt) * Math.sin(this.round), Math.cos(this.tilt));
    this.camera.position.copy(this.middle).addScaledVector(away, 4 * this.reach);
    this.camera.lookAt(this.middle);
    this.camera.updateProjectionMatrix();
    this.camera.updateMatrixWorld();
    this.lamp.position.copy(this.camera.position).addScaledVector(this.camera.up, 2 * this.reach);
    this.lamp.target.position.copy(this.middle);
    this.lamp.target.updateMatrixWorld();
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer.setSize(wide, high, false);
    this.renderer.render(this.scene, this.camera);
    for (const { at, made } of this.labels) {
      const seen = at.clone().project(this.camera);
      made.style.left = `${((seen.x + 1) / 2) * wide}px`;
      made.style.top = `${((1 - seen.y) / 2) * high}px`;
    }
    this.bar(mm);
  }

  /** The scale bar: the longest round length within a third of the width. */
  bar(mm) {
    const most = (place.clientWidth / 3) * mm;
    const power = 10 ** Math.floor(Math.log10(most));
    const length = [5, 2, 1].map((step) => step * power).find((step) => step <= most) ?? power;
    this.scale.textContent = `${length} mm`;
    this.scale.style.width = `${length / mm}px`;
  }
}

async function begin() {
  tell("The scan is being read …");
  const scan = await read(place.dataset.scan);
  place.hidden = false;
  try {
    new View(scan);
  } catch {
    place.hidden = true;
    tell("This browser has no WebGL, so the scan cannot be turned about; below is the section.");
    return;
  }
  document.querySelector("#view-buttons").hidden = false;
  tell(`${scan.count.toLocaleString("en-GB")} triangles, box walls as glass.`);
}

begin().catch((error) => {
  place.hidden = true;
  tell(error.message);
});
