// How a view of something in three dimensions is turned by keys, and outlives a lost graphics
// processor: shared by the views, which bring `camera`, `controls`, `draw` and `home`.
import { THREE } from "nicegui-scene";

const TURN = 0.15, NEARER = 1.15;

export const turnable = {
  methods: {
    watch_processor() {
      this.canvas.addEventListener("webglcontextlost", (event) => {
        event.preventDefault();
        this.broken = this.broken_text;
      });
      this.canvas.addEventListener("webglcontextrestored", () => {
        this.broken = "";
        this.light?.();
        this.draw();
      });
    },

    turn(right, up) {
      const off = this.camera.position.clone().sub(this.controls.target);
      off.applyAxisAngle(this.camera.up, right);
      const level = new THREE.Vector3().crossVectors(this.camera.up, off).normalize();
      const next = off.clone().applyAxisAngle(level, up);
      // Not over the poles, where up and down change places.
      if (Math.abs(next.clone().normalize().dot(this.camera.up)) < 0.995) off.copy(next);
      this.stand(off);
    },

    nearer(times) {
      this.stand(this.camera.position.clone().sub(this.controls.target).divideScalar(times));
    },

    // The camera so far off what it looks at.
    stand(off) {
      this.moving?.();
      this.camera.position.copy(this.controls.target).add(off);
      this.controls.update();
      this.draw();
    },

    pressed(event) {
      const acts = {
        ArrowLeft: () => this.turn(TURN, 0), ArrowRight: () => this.turn(-TURN, 0),
        ArrowUp: () => this.turn(0, -TURN), ArrowDown: () => this.turn(0, TURN),
        PageUp: () => this.nearer(NEARER), PageDown: () => this.nearer(1 / NEARER),
        Home: () => this.home(),
      };
      if (!acts[event.key] || !this.renderer) return;
      event.preventDefault();
      acts[event.key]();
    },
  },
};
