// How rings of a view are pulled by hand, with mouse, finger or arrow keys. Where they go is worked
// out elsewhere, moment by moment: with each that has come the other side is told so, and where the
// hand is by then. It is never more than a few moments ahead, so nothing queues up; and where they
// come faster than they can be drawn, those in between are passed over.
// Between moments rings go on evenly, which is as they were moved when those were worked out.
import { THREE } from "nicegui-scene";

// A moment that is not there after so long is asked for once more.
const LOST_MS = 3000;
// Moments are taken to come so far apart at first, at least and at most; and how much the last one
// tells of the next.
const APART_MS = 60, LEAST_MS = 12, MOST_MS = 250, TELLS = 0.25;
// Where others wait to be shown one is gone through more quickly.
const HURRY = 0.5;
// Software draws pictures between moments no oftener than so: what works moments out goes first.
const SPARED_MS = 30;
// So long rings take to where they rest, once that is known.
const GLIDE_MS = 450;
// A finger is so many dots wide.
const FINGER = 12;
// A key pulls so far, in core radii.
const KEY = 0.5;
const KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

// Numbers of a kind, from a text that they were packed in.
export function decoded(text, kind) {
  return new kind(Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer);
}

// From a share of the way to where rings are between two states.
function between(from, to) {
  const at = new Float32Array(to.length);
  return (share) => {
    for (let i = 0; i < to.length; i += 6) {
      // An axis and its opposite are the same ring.
      const same = [3, 4, 5].reduce((sum, k) => sum + from[i + k] * to[i + k], 0);
      const sign = same < 0 ? -1 : 1;
      for (let k = 0; k < 6; k++) {
        const start = k < 3 ? from[i + k] : sign * from[i + k];
        at[i + k] = start + share * (to[i + k] - start);
      }
      const long = Math.hypot(at[i + 3], at[i + 4], at[i + 5]);
      for (let k = 3; k < 6; k++) at[i + k] /= long;
    }
    return at;
  };
}

export const pullable = {
  methods: {
    // Before the view is turned, so that a ring under the pointer is pulled in its place.
    watch_hand() {
      const first = { capture: true };
      this.canvas.addEventListener("pointerdown", (event) => this.take_hold(event), first);
      this.canvas.addEventListener("pointermove", (event) => this.drawn_on(event), first);
      for (const kind of ["pointerup", "pointercancel", "lostpointercapture"])
        this.canvas.addEventListener(kind, (event) => this.off(event), first);
      this.canvas.addEventListener("blur", () => this.pull?.by_key && this.let_go());
    },

    // Whether rings may be pulled, and which one keys pull; null for none.
    let_pull({ may_pull, chosen }) {
      this.may_pull = may_pull;
      this.chosen = chosen;
      this.canvas.classList.toggle("may-pull", may_pull);
      this.mark_chosen();
      this.draw();
    },

    take_hold(event) {
      if (!this.may_pull || event.button) return;
      // A second finger does nothing while the first one pulls.
      if (this.pull?.pointer !== undefined) return event.stopImmediatePropagation();
      const hit = this.ring_near(event);
      if (!hit) return;
      event.stopImmediatePropagation();
      this.canvas.setPointerCapture(event.pointerId);
      this.canvas.focus({ preventScroll: true });
      this.hold(hit.ring, hit.point, { pointer: event.pointerId });
    },

    hold(ring, point, how) {
      cancelAnimationFrame(this.gliding);
      this.pull = { ring, taken: point.clone(), target: point.clone(), ...how };
      // What is pulled lies on a table from now on.
      this.ground.mesh.visible = true;
      this.canvas.classList.add("pulling");
      this.tell();
    },

    drawn_on(event) {
      if (this.pull?.pointer === undefined) return;
      event.stopImmediatePropagation();
      if (event.pointerId !== this.pull.pointer) return;
      const at = this.under(event);
      if (at) this.draw_to(at);
    },

    draw_to(target) {
      this.pull.target.copy(target);
      // While moments come, each tells where the hand is.
      if (this.is_still) this.tell();
    },

    off(event) {
      if (this.pull?.pointer === undefined || event.pointerId !== this.pull.pointer) return;
      event.stopImmediatePropagation();
      this.let_go();
    },

    let_go() {
      this.pull = { let_go: true };
      this.canvas.classList.remove("pulling");
      this.tell();
    },

    // Where the hand is, and which moment has come by now.
    tell() {
      if (!this.pull) return;
      const { ring, taken, target, let_go } = this.pull;
      this.is_still = false;
      clearTimeout(this.lost);
      this.lost = setTimeout(() => this.tell(), LOST_MS);
      const grip = let_go ? null : { ring, taken: taken.toArray(), target: target.toArray() };
      this.$emit("pull", { turn: this.turn_shown, grip, seen: this.seen });
    },

    // Rings a moment later; still where nothing moves, down where they fall no farther.
    move({ turn, poses, number, still, down }) {
      if (turn !== this.turn_shown) return;
      clearTimeout(this.lost);
      const now = performance.now();
      this.frames = (this.frames || 0) + 1;
      if (this.came) {
        const apart = Math.min(MOST_MS, Math.max(LEAST_MS, now - this.came));
        this.apart += TELLS * (apart - this.apart);
      }
      this.came = now;
      this.newest = decoded(poses, Float32Array);
      this.coming.push(this.newest);
      this.seen = number;
      this.is_still = down || (still && !this.pull?.let_go);
      if (!this.is_still) this.tell();
      if (!this.playing) this.play_next();
    },

    // Begin to show the last moment that has come, from the one before it.
    play_next() {
      if (!this.coming.length) return;
      const [before, next] = [this.at, ...this.coming].slice(-2);
      this.coming = [];
      const begun = performance.now(), way = between(before, next);
      let drawn = begun;
      const step = (now) => {
        const lasts = this.apart * (this.coming.length ? HURRY : 1);
        const share = Math.min(1, (now - begun) / lasts);
        if (share < 1 && this.by_software && now - drawn < SPARED_MS)
          return (this.playing = requestAnimationFrame(step));
        drawn = now;
        this.put(share < 1 ? way(share) : next);
        this.playing = share < 1 ? requestAnimationFrame(step) : 0;
        if (share === 1) this.play_next();
      };
      this.playing = requestAnimationFrame(step);
    },

    // Other rings are shown: what was pulled is no more.
    hand_off(turn) {
      clearTimeout(this.lost);
      cancelAnimationFrame(this.gliding);
      cancelAnimationFrame(this.playing);
      this.playing = this.seen = this.came = 0;
      this.apart = APART_MS;
      this.coming = [];
      this.newest = null;
      this.pull = null;
      this.is_still = false;
      this.turn_shown = turn;
      this.canvas.classList.remove("pulling");
    },

    put(poses) {
      this.at = poses;
      this.moving();
      for (const mesh of this.tori()) this.placed(mesh, poses, 6);
      this.ribbons.place(poses, 6);
      this.shade();
      this.mark_chosen();
      this.draw();
    },

    // From where rings were to where they are shown now; at once where one has farther to go than
    // so many times its radius.
    glide(from, farthest) {
      const to = this.at, begun = performance.now();
      this.draw();
      let far = 0;
      for (let i = 0; i < to.length; i += 6)
        far = Math.max(far, Math.hypot(...[0, 1, 2].map((k) => to[i + k] - from[i + k])));
      if (!far || far > farthest * this.widest) return;
      if (window.matchMedia("(prefers-reduced-motion: reduce)").matches) return;
      const way = between(from, to);
      const step = (now) => {
        const share = Math.min(1, Math.max(0, (now - begun) / GLIDE_MS));
        const eased = share * share * (3 - 2 * share);
        this.put(share < 1 ? way(eased) : to);
        if (share < 1) this.gliding = requestAnimationFrame(step);
      };
      step(begun);
    },

    ray(x, y) {
      const { left, top, width, height } = this.canvas.getBoundingClientRect();
      const at = new THREE.Vector2((2 * (x - left)) / width - 1, 1 - (2 * (y - top)) / height);
      const caster = new THREE.Raycaster();
      caster.setFromCamera(at, this.camera);
      return caster;
    },

    ring_at(x, y) {
      const hit = this.ray(x, y).intersectObjects(this.met(), false)[0];
      return hit && { ring: hit.object.userData.members[hit.instanceId], point: hit.point };
    },

    // The ring under a pointer, or within a finger's width of it.
    ring_near({ clientX, clientY, pointerType }) {
      const hit = this.ring_at(clientX, clientY);
      if (hit || pointerType === "mouse") return hit;
      for (let k = 0; k < 8; k++) {
        const angle = (k * Math.PI) / 4;
        const near = this.ring_at(
          clientX + FINGER * Math.cos(angle), clientY + FINGER * Math.sin(angle));
        if (near) return near;
      }
      return null;
    },

    // Where the pointer draws the ring to: as far off as it was, but not below the table.
    under({ clientX, clientY }) {
      const { ray } = this.ray(clientX, clientY);
      const toward = this.camera.getWorldDirection(new THREE.Vector3());
      const facing = new THREE.Plane().setFromNormalAndCoplanarPoint(toward, this.pull.taken);
      const at = ray.intersectPlane(facing, new THREE.Vector3());
      if (!at || at.z >= this.table) return at;
      const table = new THREE.Plane(new THREE.Vector3(0, 0, 1), -this.table);
      return ray.intersectPlane(table, new THREE.Vector3()) || at;
    },

    // How high the table lies: where the lowest ring touches it.
    table_of(rings, floats) {
      this.table = Infinity;
      for (let i = 0; i < rings.length; i += floats) {
        const lean = Math.sqrt(Math.max(0, 1 - rings[i + 5] ** 2));
        this.table = Math.min(this.table, rings[i + 2] - rings[i + 6] * lean - rings[i + 7]);
      }
    },

    mark_chosen() {
      if (this.chosen_mark) this.shown.remove(this.chosen_mark);
      this.chosen_mark = null;
      if (!this.may_pull || this.chosen === null || !this.at) return;
      if (6 * this.chosen >= this.at.length) return;
      const at = Array.from(this.at.subarray(6 * this.chosen, 6 * this.chosen + 3));
      this.chosen_mark = this.mark({ at, text: `${this.chosen + 1}`, kind: "first" });
    },

    // Whether a key pulled, or let go; other keys turn the view.
    pulled_by_key(event) {
      if (!this.may_pull || this.chosen === null || this.pull?.pointer !== undefined) return false;
      if (["Enter", "Escape"].includes(event.key) && this.pull?.by_key) {
        event.preventDefault();
        this.let_go();
        return true;
      }
      const way = KEYS[event.key];
      if (!way || event.shiftKey) return false;
      event.preventDefault();
      const centre = new THREE.Vector3().fromArray(this.at, 6 * this.chosen);
      if (!this.pull?.by_key) this.hold(this.chosen, centre, { by_key: true });
      const right = new THREE.Vector3(), up = new THREE.Vector3();
      this.camera.matrixWorld.extractBasis(right, up, new THREE.Vector3());
      const far = KEY * this.widest;
      const target = this.pull.target.clone();
      target.addScaledVector(right, way[0] * far).addScaledVector(up, way[1] * far);
      target.z = Math.max(target.z, this.table);
      this.draw_to(target);
      return true;
    },
  },
};
