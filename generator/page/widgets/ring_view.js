// A turnable view of rings: instances of a torus, or ribbons where those would turn too slowly;
// drawn only when something changes.
import { CSS2DObject, CSS2DRenderer, THREE } from "nicegui-scene";
import { Ground } from "ground";
import { decoded, pullable } from "pulling";
import { Ribbons } from "ribbons";
import { mirrored, mirrored_on_a_square, studio } from "studio";
import { turnable } from "turning";

// Triangles of all rings together as tori, while the view is turned and when it stands still; and
// as ribbons, and as ribbons that turn where drawing is slow; segments about one ring.
const TURNING = 7e5, STILL = 2.1e6, RIBBONS = 3e5, FEW = 8e4;
const FINEST = 72, COARSEST = 10;
// From so many rings on they turn as ribbons, and on fewer dots of a screen with very many.
const MANY = 600;
// Pictures that take longer than this to draw, while turning, are too slow; so many are looked at,
// and again and again so soon whether one is done.
const SLOW_MS = 45, LOOKED_AT = 3, LOOK_MS = 5;
const FLOATS = 8; // centre, axis, core radius, wire radius
const POSE = 6; // centre, axis
const FORM = [0.66, 0.64, 0.62]; // as in the stills
// On a dark page it is so much darker.
const DIM = 0.4;
const START = new THREE.Vector3(-0.35, -0.8, 0.55);
const SIDES = {
  start: START, front: new THREE.Vector3(0, -1, 0), back: new THREE.Vector3(0, 1, 0),
  top: new THREE.Vector3(0, -0.001, 1), below: new THREE.Vector3(0, -0.001, -1),
  end: new THREE.Vector3(1, 0, 0),
};

// Segments around and across each of so many rings that have so many triangles together.
function fineness(count, triangles) {
  const around = Math.sqrt((1.5 * triangles) / Math.max(count, 1));
  const kept = Math.round(Math.min(FINEST, Math.max(COARSEST, around)));
  return [kept, Math.max(4, Math.round(kept / 3))];
}

// So many dots a picture is wide at least.
const WIDE = 1600;

// A picture on a sheet of its own, with its words below it.
function captioned(picture, { title, lines, query }, style) {
  const { width, height } = picture, size = Math.round(width / 45), edge = size;
  const sheet = document.createElement("canvas"), pen = sheet.getContext("2d");
  const small = Math.round(size * 0.7), address = `${location.origin}/?${query}`;
  const font = (dots, heavy = "") => (pen.font = `${heavy} ${dots}px system-ui, sans-serif`);
  font(small);
  const rows = [];
  for (let rest = address; rest; ) {
    let cut = rest.length;
    while (pen.measureText(rest.slice(0, cut)).width > width - 2 * edge) cut -= 1;
    rows.push(rest.slice(0, cut));
    rest = rest.slice(cut);
  }
  sheet.width = width;
  sheet.height = height + Math.round(edge * 2 + size * 1.4 * (1 + lines.length) + small * 1.4 * rows.length);
  pen.fillStyle = style.backgroundColor;
  pen.fillRect(0, 0, sheet.width, sheet.height);
  pen.drawImage(picture, 0, 0);
  pen.fillStyle = style.color;
  let down = height + edge;
  const write = (text, dots, heavy) => {
    font(dots, heavy);
    down += dots * 1.4;
    pen.fillText(text, edge, down - dots * 0.4);
  };
  write(title, size, "600");
  for (const line of lines) write(line, size);
  for (const row of rows) write(row, small);
  return sheet;
}

export default {
  mixins: [turnable, pullable],
  template: `
    <div class="ring-view">
      <canvas tabindex="0" role="img" :aria-label="said || label" @keydown="keyed"></canvas>
      <div class="ring-view-labels" aria-hidden="true"></div>
      <p v-if="broken" class="ring-view-broken">{{ broken }}</p>
    </div>`,

  mounted() {
    if (!this.set_up(22)) return;
    this.slow = this.by_software;
    this.renderer.toneMapping = THREE.ACESFilmicToneMapping;
    this.renderer.toneMappingExposure = 0.95;
    this.labels = new CSS2DRenderer({ element: this.$el.querySelector(".ring-view-labels") });
    this.ribbons = new Ribbons();
    this.ground = new Ground();
    this.scene.add(this.ribbons.mesh, this.ground.mesh);
    this.light();
    this.times = [];
    this.reach = 10;
    this.count = 0;
    this.middle = new THREE.Vector3();
    this.side = START;
    this.fitted = false;
    this.watch_hand();
    this.canvas.addEventListener("pointerdown", (event) => (this.down = [event.clientX, event.clientY]));
    this.canvas.addEventListener("pointerup", (event) => this.picked(event));
    this.begin();
  },

  beforeUnmount() {
    this.hand_off(0);
    this.ribbons?.dispose();
    this.ground?.dispose();
  },

  methods: {
    light() {
      const room = studio();
      for (const one of this.mirrors || []) one.dispose();
      this.mirrors = [mirrored(this.renderer, room), mirrored_on_a_square(this.renderer, room)];
      this.scene.environment = this.mirrors[0].texture;
      this.ribbons.uniforms.room.value = this.mirrors[1].texture;
    },

    // Rings as numbers, their colours, and marks: {at, text, kind} each.
    show(data) {
      this.said = data.said;
      if (!this.renderer) return;
      const rings = decoded(data.rings, Float32Array), colours = decoded(data.colours, Uint8Array);
      const before = this.newest || this.at;
      this.hand_off(data.turn);
      this.clear();
      this.moving();
      this.count = rings.length / FLOATS;
      this.ribbons.hold(rings, FLOATS);
      this.ribbons.paint(colours);
      for (const [key, members] of this.alike(rings, this.count)) {
        const [core, wire] = key.split(" ").map(Number);
        const metal = new THREE.MeshStandardMaterial({ metalness: 1, roughness: 0.27 });
        const mesh = new THREE.InstancedMesh(new THREE.BufferGeometry(), metal, members.length);
        mesh.userData = { members, core, wire };
        this.placed(mesh, rings, FLOATS);
        this.painted(mesh, colours);
        this.shown.add(mesh);
      }
      for (const one of data.open || []) this.add_open(one);
      this.form = data.form && this.add_form(data.form);
      this.posed = "";
      this.poses = null;
      this.refine();
      for (const mark of data.marks || []) this.mark(mark);
      const in_sight = this.all_in_sight();
      this.measure(rings, this.count);
      this.table_of(rings, FLOATS);
      this.at = rings.filter((_, k) => k % FLOATS < POSE);
      this.radii = rings.filter((_, k) => k % FLOATS >= POSE);
      this.ground.mesh.visible = Boolean(data.on_table);
      this.shade();
      this.mark_chosen();
      const other = data.what !== this.what;
      this.what = data.what;
      if (data.glide && before?.length === this.at.length) {
        if (in_sight && !this.all_in_sight()) this.fit(true);
        return this.glide(before, data.glide);
      }
      if (data.aim) this.aim(data.aim);
      else if (!data.keep || !this.fitted) this.fit();
      else if (other) this.fit(true);
      else this.controls.target.copy(this.middle);
      this.controls.update();
      this.draw();
    },

    // The shadow on the table, where rings lie on one.
    shade() {
      if (this.ground.mesh.visible) this.ground.fall(this.at, POSE, this.radii, this.table);
    },

    // Tori or ribbons, and every ring as fine as there is time for.
    refine() {
      const many = this.count > MANY, turning = this.is_turning;
      const flat = many ? turning || this.slow : turning && this.slow;
      this.ribbons.mesh.visible = flat;
      for (const mesh of this.tori()) mesh.visible = !flat;
      if (!flat) this.refine_tori(...fineness(this.count, turning ? TURNING : STILL));
    },

    see_ribbons() {
      const away = this.camera.position.distanceTo(this.controls.target);
      const high = 2 * away * Math.tan((this.camera.fov * Math.PI) / 360);
      const hurried = this.slow && this.is_turning;
      this.ribbons.see(
        this.camera, this.canvas.height / high, hurried ? FEW : RIBBONS, hurried);
    },

    tori() {
      return this.shown.children.filter((one) => one.isInstancedMesh);
    },

    refine_tori(around, across) {
      for (const mesh of this.tori()) {
        const { core, wire } = mesh.userData;
        const now = mesh.geometry.parameters;
        if (now?.tubularSegments === around && now.radialSegments === across) continue;
        mesh.geometry.dispose();
        mesh.geometry = new THREE.TorusGeometry(core, wire, across, around);
        mesh.boundingSphere = null;
      }
    },

    paced() {
      this.times = [];
      this.refine();
    },

    fewer_dots() {
      return this.is_turning && (this.slow || this.count > MANY);
    },

    // Where this machine does not keep up, it is given less to draw.
    timed() {
      if (this.slow || !this.is_turning || this.watched) return;
      const gl = this.renderer.getContext(), begun = performance.now();
      this.watched = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
      gl.flush();
      const look = () => {
        const done = gl.getSyncParameter(this.watched, gl.SYNC_STATUS) === gl.SIGNALED;
        if (!done && !gl.isContextLost()) return setTimeout(look, LOOK_MS);
        gl.deleteSync(this.watched);
        this.watched = null;
        this.took(performance.now() - begun);
      };
      setTimeout(look, LOOK_MS);
    },

    took(ms) {
      this.times.push(ms);
      if (this.times.length < LOOKED_AT) return;
      this.slow = this.times.sort((a, b) => a - b)[LOOKED_AT >> 1] > SLOW_MS;
      this.times = [];
      if (this.slow) this.refine();
    },

    // Tori that a ray can meet, shown or not.
    met() {
      if (this.ribbons.mesh.visible) this.refine_tori(...fineness(this.count, TURNING));
      return this.tori();
    },

    alike(rings, count) {
      const groups = new Map();
      for (let i = 0; i < count; i++) {
        const key = [6, 7].map((k) => rings[i * FLOATS + k]).join(" ");
        if (!groups.has(key)) groups.set(key, []);
        groups.get(key).push(i);
      }
      return groups;
    },

    // Every ring of a mesh to its place; one whose axis is zero is not shown.
    placed(mesh, poses, floats) {
      const { members } = mesh.userData;
      const matrix = new THREE.Matrix4(), turn = new THREE.Quaternion();
      const z = new THREE.Vector3(0, 0, 1), size = new THREE.Vector3();
      const axis = new THREE.Vector3(), centre = new THREE.Vector3();
      members.forEach((i, k) => {
        centre.fromArray(poses, i * floats);
        axis.fromArray(poses, i * floats + 3);
        size.setScalar(axis.lengthSq() > 0.5 ? 1 : 0);
        turn.setFromUnitVectors(z, axis.lengthSq() > 0.5 ? axis : z);
        mesh.setMatrixAt(k, matrix.compose(centre, turn, size));
      });
      mesh.instanceMatrix.needsUpdate = true;
      mesh.boundingSphere = null;
    },

    painted(mesh, colours) {
      const colour = new THREE.Color();
      mesh.userData.members.forEach((i, k) => {
        colour.setRGB(...[0, 1, 2].map((c) => colours[3 * i + c] / 255), THREE.SRGBColorSpace);
        mesh.setColorAt(k, colour);
      });
      if (mesh.instanceColor) mesh.instanceColor.needsUpdate = true;
    },

    // A ring that stands open, its wire as a line of points from one end to the other.
    add_open({ points, radius, colour }) {
      const path = new THREE.CatmullRomCurve3(points.map((one) => new THREE.Vector3(...one)));
      const metal = new THREE.MeshStandardMaterial({ metalness: 1, roughness: 0.27, color: colour });
      const tube = new THREE.TubeGeometry(path, 2 * points.length, radius, 20, false);
      const wire = new THREE.Mesh(tube, metal);
      wire.userData.open = { radius, colour };
      this.shown.add(wire);
      // Flat ends, as a saw or a cutter leaves them.
      for (const [end, sign] of [[0, -1], [1, 1]]) {
        const cap = new THREE.Mesh(new THREE.CircleGeometry(radius, 20), metal);
        cap.position.copy(path.getPointAt(end));
        cap.lookAt(cap.position.clone().addScaledVector(path.getTangentAt(end), sign));
        cap.userData.open = wire.userData.open;
        this.shown.add(cap);
      }
    },

    // What rings are worn on: matt, and of no colour.
    add_form({ points, normals, faces }) {
      const body = new THREE.BufferGeometry();
      body.setAttribute("position", new THREE.BufferAttribute(decoded(points, Float32Array), 3));
      body.setAttribute("normal", new THREE.BufferAttribute(decoded(normals, Float32Array), 3));
      body.setIndex(new THREE.BufferAttribute(decoded(faces, Uint32Array), 1));
      const paint = new THREE.MeshStandardMaterial({ metalness: 0, roughness: 0.95 });
      const is_dark = window.matchMedia("(prefers-color-scheme: dark)").matches;
      paint.color.setRGB(...FORM).multiplyScalar(is_dark ? DIM : 1);
      const form = new THREE.Mesh(body, paint);
      this.shown.add(form);
      return form;
    },

    // States of the rings that are shown, by the name of a way they move, and of the wire of one
    // that stands open; and one of these states.
    keep_poses(ways, wires) {
      const read = (texts) => Object.fromEntries(
        Object.entries(texts).map(([name, text]) => [name, decoded(text, Float32Array)]));
      this.poses = read(ways);
      this.wires = read(wires);
    },

    pose(name, at) {
      if (!this.renderer || !this.poses?.[name]) return;
      const length = POSE * this.count;
      const poses = this.poses[name].subarray(at * length, (at + 1) * length);
      this.moving();
      for (const mesh of this.tori()) this.placed(mesh, poses, POSE);
      this.ribbons.place(poses, POSE);
      if (name !== this.posed) {
        this.posed = name;
        this.box_of(this.poses[name]);
        this.fit(true);
      }
      if (this.wires[name]) this.reopen(this.wires[name], at, this.poses[name].length / length);
      this.draw();
    },

    // The open ring as its wire is in one of so many states. Numbers stand where rings lay before.
    reopen(wires, at, states) {
      const length = wires.length / states, wire = wires.subarray(at * length, (at + 1) * length);
      for (const one of [...this.shown.children]) {
        if (one.userData.open) this.opened = one.userData.open;
        if (one.userData.open || one.isCSS2DObject) this.dispose(one);
      }
      const points = [];
      for (let i = 0; i < length; i += 3) points.push([...wire.subarray(i, i + 3)]);
      const is_there = points.some((one) => one.some((k, axis) => k !== points[0][axis]));
      if (is_there) this.add_open({ points, ...this.opened });
    },

    // Room for every state of a way, so that the camera can stay where it is.
    box_of(poses) {
      this.box = new THREE.Box3();
      const at = new THREE.Vector3(), out = this.widest;
      for (let i = 0; i < poses.length; i += POSE) {
        if (!poses[i + 3] && !poses[i + 4] && !poses[i + 5]) continue;
        at.fromArray(poses, i);
        this.box.expandByPoint(at.clone().addScalar(out)).expandByPoint(at.clone().subScalar(out));
      }
      this.box.getCenter(this.middle);
    },

    // Other colours, marks and lines on the same rings.
    point_out({ colours, marks, lines }) {
      if (!this.renderer) return;
      const paints = decoded(colours, Uint8Array);
      this.ribbons.paint(paints);
      for (const one of [...this.shown.children]) {
        if (one.isInstancedMesh) this.painted(one, paints);
        else if (one !== this.form) this.dispose(one);
      }
      for (const one of marks) this.mark(one);
      for (const one of lines) this.line(one);
      this.draw();
    },

    line({ from, to, text }) {
      const start = new THREE.Vector3(...from), end = new THREE.Vector3(...to);
      const way = end.clone().sub(start), middle = start.clone().addScaledVector(way, 0.5);
      const rod = new THREE.CylinderGeometry(this.widest / 30, this.widest / 30, way.length(), 12);
      const paint = new THREE.MeshBasicMaterial({ color: text ? 0x111111 : 0xffffff });
      paint.depthTest = false;
      paint.transparent = true;
      const line = new THREE.Mesh(rod, paint);
      line.renderOrder = text ? 1 : 2;
      line.position.copy(middle);
      line.quaternion.setFromUnitVectors(new THREE.Vector3(0, 1, 0), way.normalize());
      this.shown.add(line);
      if (text) this.mark({ at: middle.toArray(), text, kind: "length" });
    },

    mark({ at, text, kind }) {
      const tag = document.createElement("span");
      tag.className = `ring-mark ring-mark-${kind || "plain"}`;
      tag.textContent = text;
      const label = new CSS2DObject(tag);
      label.position.fromArray(at);
      this.shown.add(label);
      return label;
    },

    clear() {
      for (const one of [...this.shown.children]) this.dispose(one);
    },

    dispose(one) {
      this.shown.remove(one);
      if (!one.isMesh) return;
      one.geometry.dispose();
      one.material.dispose();
      one.dispose?.();
    },

    measure(rings, count) {
      const box = new THREE.Box3(), at = new THREE.Vector3();
      this.widest = 0;
      for (let i = 0; i < count; i++) {
        const out = rings[i * FLOATS + 6] + rings[i * FLOATS + 7];
        this.widest = Math.max(this.widest, out);
        at.fromArray(rings, i * FLOATS);
        box.expandByPoint(at.clone().addScalar(out)).expandByPoint(at.clone().subScalar(out));
      }
      this.box = box;
      box.getCenter(this.middle);
    },

    all_in_sight() {
      if (!this.box) return false;
      this.camera.updateMatrixWorld();
      return [0, 1, 2, 3, 4, 5, 6, 7].every((k) => {
        const corner = new THREE.Vector3(
          k & 1 ? this.box.max.x : this.box.min.x, k & 2 ? this.box.max.y : this.box.min.y,
          k & 4 ? this.box.max.z : this.box.min.z).project(this.camera);
        return Math.max(Math.abs(corner.x), Math.abs(corner.y)) < 1;
      });
    },

    // The camera so far back that everything is seen, from the side last asked for, or from
    // where it is.
    fit(from_here) {
      this.aimed = null;
      if (!this.box || !this.camera) return;
      const half = Math.tan((this.camera.fov * Math.PI) / 360);
      const here = this.camera.position.clone().sub(this.controls.target);
      const back = (from_here && this.fitted ? here : this.side.clone()).normalize();
      this.controls.target.copy(this.middle);
      this.camera.position.copy(this.middle).add(back);
      this.camera.lookAt(this.middle);
      this.camera.updateMatrixWorld();
      const right = new THREE.Vector3(), up = new THREE.Vector3();
      this.camera.matrixWorld.extractBasis(right, up, new THREE.Vector3());
      let far = 0;
      for (const x of [this.box.min.x, this.box.max.x])
        for (const y of [this.box.min.y, this.box.max.y])
          for (const z of [this.box.min.z, this.box.max.z]) {
            const corner = new THREE.Vector3(x, y, z).sub(this.middle);
            const wide = Math.abs(corner.dot(right)) / (half * this.camera.aspect);
            const tall = Math.abs(corner.dot(up)) / half;
            far = Math.max(far, Math.max(wide, tall) + corner.dot(back));
          }
      this.reach = far * 1.06;
      this.camera.near = this.reach / 200;
      this.camera.far = this.reach * 20;
      this.camera.updateProjectionMatrix();
      this.camera.position.copy(this.middle).addScaledVector(back, this.reach);
      this.fitted = true;
      this.controls.update();
      this.draw();
    },

    // So much about a place fills the view, seen from where it was or from another side.
    aim({ middle, across, toward, wide }) {
      const half = Math.tan((this.camera.fov * Math.PI) / 360);
      const here = this.camera.position.clone().sub(this.controls.target);
      const back = (toward ? new THREE.Vector3(...toward) : here).normalize();
      const sides = wide ? this.camera.aspect : Math.min(1, this.camera.aspect);
      const out = across / (2 * half * sides);
      this.middle.fromArray(middle);
      this.controls.target.copy(this.middle);
      this.reach = out;
      this.camera.near = out / 200;
      this.camera.far = out * 20;
      this.camera.updateProjectionMatrix();
      this.camera.position.copy(this.middle).addScaledVector(back, out);
      this.aimed = { middle, across, wide };
      this.fitted = true;
    },

    look_at(place) {
      if (!this.renderer) return;
      this.aim(place);
      this.draw();
    },

    // What is seen, with words below it, as a file.
    save_picture(caption) {
      if (!this.renderer) return;
      const { clientWidth: width, clientHeight: height } = this.canvas;
      const before = this.renderer.getPixelRatio();
      this.renderer.setPixelRatio(Math.max(before, WIDE / width));
      this.renderer.setSize(width, height, false);
      if (this.ribbons.mesh.visible) this.see_ribbons();
      this.renderer.render(this.scene, this.camera);
      const sheet = captioned(this.canvas, caption, getComputedStyle(this.$el));
      this.renderer.setPixelRatio(before);
      this.renderer.setSize(width, height, false);
      this.draw();
      sheet.toBlob((data) => {
        const link = document.createElement("a");
        link.href = URL.createObjectURL(data);
        link.download = caption.file_name;
        link.click();
        setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
      }, "image/png");
    },

    look_from(side) {
      this.side = SIDES[side];
      this.fit();
    },

    resize() {
      const { clientWidth: width, clientHeight: height } = this.$el;
      if (!this.renderer || !width || !height) return;
      this.sharpness();
      this.renderer.setSize(width, height, false);
      this.labels.setSize(width, height);
      this.camera.aspect = width / height;
      this.camera.updateProjectionMatrix();
      if (this.aimed) this.aim(this.aimed);
      else if (this.fitted) this.fit(true);
      this.draw();
    },

    keyed(event) {
      if (!this.pulled_by_key(event)) this.pressed(event);
    },

    draw() {
      if (this.due) return;
      this.due = requestAnimationFrame(() => {
        this.due = 0;
        if (this.ribbons.mesh.visible) this.see_ribbons();
        this.renderer.render(this.scene, this.camera);
        this.labels.render(this.scene, this.camera);
        this.timed();
      });
    },

    home() {
      this.look_from("start");
    },

    // A tap that did not turn the view picks the ring under it.
    picked(event) {
      if (!this.down || Math.hypot(event.clientX - this.down[0], event.clientY - this.down[1]) > 6)
        return;
      const hit = this.ring_at(event.clientX, event.clientY);
      if (hit) this.$emit("pick", hit.ring);
    },
  },
};
