// The shadow that rings throw on the table that they lie on: dark where they touch it, soft and
// faint where they are higher. Dots along the wires are spread over a grid seen from above and
// smoothed, which takes a millisecond for a hundred rings, with or without a graphics processor.
import { THREE } from "nicegui-scene";

// Dots about a ring, where there are few rings and where there are many; cells along the longer side.
const DOTS = 40, FEW_DOTS = 10, MANY = 400, CELLS = 224;
// Around the rings so much is kept free, in radii of the widest ring, in which the shadow fades.
const MARGIN = 2.2;
// A wire that is higher over the table by its radius times this throws 1/e of the shadow.
const FADES = 2.2;
// How dark the shadow is at most where rings touch, and the wide one about them; how far each
// is smoothed, in radii of the widest ring.
const CONTACT = 0.72, NEAR = 0.1, AROUND = 0.4, WIDE = 0.75;
const TIMES = 2;

// The mean over `reach` cells to either side, along rows or columns.
function smoothed(cells, across, down, reach, step, lines, line) {
  const before = new Float32Array(Math.max(across, down));
  const count = (across * down) / lines;
  for (let k = 0; k < lines; k++) {
    const start = k * line;
    for (let i = 0; i < count; i++) before[i] = cells[start + i * step];
    let sum = 0;
    for (let i = -reach; i < count + reach; i++) {
      if (i + reach < count) sum += before[i + reach];
      if (i - reach - 1 >= 0) sum -= before[i - reach - 1];
      if (i >= 0 && i < count) cells[start + i * step] = sum / (2 * reach + 1);
    }
  }
}

function soft(cells, across, down, reach) {
  for (let k = 0; k < TIMES; k++) {
    smoothed(cells, across, down, reach, 1, down, across);
    smoothed(cells, across, down, reach, across, across, 1);
  }
}

export class Ground {
  constructor() {
    const paint = new THREE.MeshBasicMaterial({
      color: 0x000000, transparent: true, depthWrite: false, toneMapped: false });
    this.mesh = new THREE.Mesh(new THREE.PlaneGeometry(1, 1), paint);
    this.mesh.visible = false;
  }

  // The shadow of rings (centre and axis, that many floats apart) with these radii on a table so
  // high.
  fall(poses, floats, radii, table) {
    const count = poses.length / floats;
    let widest = 0, [left, right, front, back] = [Infinity, -Infinity, Infinity, -Infinity];
    for (let i = 0; i < count; i++) {
      const x = poses[i * floats], y = poses[i * floats + 1];
      [left, right] = [Math.min(left, x), Math.max(right, x)];
      [front, back] = [Math.min(front, y), Math.max(back, y)];
      widest = Math.max(widest, radii[2 * i] + radii[2 * i + 1]);
    }
    if (!count) return;
    const room = (1 + MARGIN) * widest;
    const wide = right - left + 2 * room, deep = back - front + 2 * room;
    const cell = Math.max(wide, deep) / CELLS;
    const across = Math.max(1, Math.round(wide / cell)), down = Math.max(1, Math.round(deep / cell));
    const near = new Float32Array(across * down);
    const dots = count > MANY ? FEW_DOTS : DOTS;
    for (let i = 0; i < count; i++) {
      const [x, y, z, ax, ay, az] = poses.subarray(i * floats, i * floats + 6);
      if (!ax && !ay && !az) continue;
      const core = radii[2 * i], wire = radii[2 * i + 1];
      // Two ways across the axis, the first of them level.
      const level = Math.hypot(ax, ay);
      const [ux, uy] = level > 1e-6 ? [-ay / level, ax / level] : [1, 0];
      const [vx, vy, vz] = [-az * uy, az * ux, ax * uy - ay * ux];
      // As much shade as the wire covers of a cell.
      const shade = ((2 * Math.PI * core) / dots) * 2 * wire / (cell * cell);
      for (let k = 0; k < dots; k++) {
        const c = core * Math.cos((2 * Math.PI * k) / dots), s = core * Math.sin((2 * Math.PI * k) / dots);
        const high = z + s * vz - wire - table;
        const at = Math.floor((x + c * ux + s * vx - left + room) / cell);
        const row = Math.floor((y + c * uy + s * vy - front + room) / cell);
        if (at < 0 || at >= across || row < 0 || row >= down) continue;
        near[row * across + at] += shade * Math.exp(-Math.max(0, high) / (FADES * wire));
      }
    }
    soft(near, across, down, Math.max(1, Math.round((NEAR * widest) / cell)));
    const far = near.slice();
    soft(far, across, down, Math.max(1, Math.round((WIDE * widest) / cell)));
    this.put(near, far, across, down);
    this.mesh.scale.set(wide, deep, 1);
    this.mesh.position.set((left + right) / 2, (front + back) / 2, table);
  }

  put(near, far, across, down) {
    const size = `${across} ${down}`, paint = this.mesh.material;
    if (size !== this.size) {
      this.size = size;
      paint.map?.dispose();
      paint.map = new THREE.DataTexture(new Uint8Array(4 * across * down), across, down);
      paint.map.magFilter = paint.map.minFilter = THREE.LinearFilter;
      paint.needsUpdate = true;
    }
    const dots = paint.map.image.data;
    for (let i = 0; i < near.length; i++)
      dots[4 * i + 3] = 255 * (1 - (1 - CONTACT * (1 - Math.exp(-1.6 * near[i])))
        * (1 - AROUND * (1 - Math.exp(-2 * far[i]))));
    paint.map.needsUpdate = true;
  }

  dispose() {
    this.mesh.geometry.dispose();
    this.mesh.material.map?.dispose();
    this.mesh.material.dispose();
  }
}
