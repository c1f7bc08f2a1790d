// How a view of something in three dimensions is set up, turned, drawn less sharply meanwhile, and
// outlives a lost graphics processor: shared by the views, which bring `draw`, `resize` and `home`,
// and may bring `light`, `paced` and a `fewer_dots` of their own.
import { OrbitControls, THREE } from "nicegui-scene";

const TURN = 0.15, NEARER = 1.15;
// A view that has not been turned for so long stands still again.
const REST_MS = 220;

// Whether software draws here, in place of a graphics processor.
let software;
function drawn_by_software() {
  if (software !== undefined) return software;
  const tried = document.createElement("canvas").getContext(
    "webgl2", { failIfMajorPerformanceCaveat: true });
  const named = tried?.getExtension("WEBGL_debug_renderer_info");
  const name = named ? tried.getParameter(named.UNMASKED_RENDERER_WEBGL) : "";
  software = !tried || /swiftshader|llvmpipe|softpipe|software|basic render/i.test(name);
  tried?.getExtension("WEBGL_lose_context")?.loseContext();
  return software;
}

export const turnable = {
  props: { label: String, broken_text: String },
  data() {
    return { broken: "", said: "" };
  },

  unmounted() {
    this.sized?.disconnect();
    clearTimeout(this.waiting);
    this.controls?.dispose();
    this.renderer?.dispose();
  },

  methods: {
    // An empty scene and a camera of that angle; whether this browser can draw at all.
    set_up(angle) {
      this.canvas = this.$el.querySelector("canvas");
      this.by_software = drawn_by_software();
      this.is_turning = false;
      try {
        // Software smooths edges more quickly by drawing more dots, once the view stands still.
        this.renderer = new THREE.WebGLRenderer(
          { canvas: this.canvas, antialias: !this.by_software, alpha: true });
      } catch {
        this.broken = this.broken_text;
        return false;
      }
      this.scene = new THREE.Scene();
      this.shown = new THREE.Group();
      this.camera = new THREE.PerspectiveCamera(angle, 1, 0.1, 10000);
      this.camera.up.set(0, 0, 1);
      this.scene.add(this.shown, this.camera);
      this.controls = new OrbitControls(this.camera, this.canvas);
      this.controls.addEventListener("start", () => this.turning());
      this.controls.addEventListener("change", () => this.draw());
      this.controls.addEventListener("end", () => this.still_soon());
      this.watch_processor();
      return true;
    },

    // What has been set up is as large as its place from now on.
    begin() {
      this.sized = new ResizeObserver(() => this.resize());
      this.sized.observe(this.$el);
      this.resize();
      this.$emit("ready");
    },

    turning() {
      clearTimeout(this.waiting);
      if (!this.is_turning) this.pace(true);
    },

    still_soon() {
      clearTimeout(this.waiting);
      this.waiting = setTimeout(() => this.pace(false), REST_MS);
    },

    // What changes, or turns, by single steps.
    moving() {
      this.turning();
      this.still_soon();
    },

    pace(is_turning) {
      this.is_turning = is_turning;
      this.sharpness();
      this.paced?.();
      this.draw();
    },

    // Whether there is little time for a picture, so that fewer dots of a fine screen have to do.
    fewer_dots() {
      return this.is_turning && this.by_software;
    },

    // What stands still is drawn by software with more dots, which are its smooth edges.
    sharpness() {
      const smoothed = this.by_software && !this.is_turning;
      const dots = smoothed ? 2 : Math.min(window.devicePixelRatio || 1, this.fewer_dots() ? 1 : 2);
      if (dots !== this.renderer.getPixelRatio()) this.renderer.setPixelRatio(dots);
    },

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
      this.moving();
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
