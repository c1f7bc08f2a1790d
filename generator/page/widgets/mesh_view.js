// A turnable view of one printed part as it lies on the bed, on squares of a centimetre.
import { STLLoader, THREE } from "nicegui-scene";
import { turnable } from "turning";

const SQUARE_MM = 10;
const START = new THREE.Vector3(-0.5, -0.9, 0.75).normalize();
// Edges of meshes finer than this would only darken them.
const MOST_EDGED = 60000;

export default {
  mixins: [turnable],
  template: `
    <div class="mesh-view">
      <canvas tabindex="0" role="img" :aria-label="said || label" @keydown="pressed"></canvas>
      <p v-if="broken" class="mesh-view-broken">{{ broken }}</p>
    </div>`,

  mounted() {
    if (!this.set_up(24)) return;
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0x8a8478, 1.6));
    this.lamp = new THREE.DirectionalLight(0xffffff, 1.9);
    this.scene.add(this.lamp);
    this.begin();
  },

  beforeUnmount() {
    if (this.shown) this.clear();
  },

  methods: {
    // {address, colour, said}: the part as STL, fetched from the page's own server.
    async show({ address, colour, said }) {
      this.said = said;
      this.asked = address;
      if (!this.renderer) return;
      const answer = await fetch(address);
      // Another part may have been asked for meanwhile, or this one be made anew.
      if (!answer.ok || this.asked !== address) return;
      const data = await answer.arrayBuffer();
      if (this.asked !== address) return;
      this.clear();
      this.put(new STLLoader().parse(data), colour);
      this.fit();
    },

    put(shape, colour) {
      shape.computeBoundingBox();
      const plastic = new THREE.MeshStandardMaterial({ color: colour, roughness: 0.65, flatShading: true });
      this.shown.add(new THREE.Mesh(shape, plastic));
      if (shape.attributes.position.count < MOST_EDGED)
        this.shown.add(new THREE.LineSegments(
          new THREE.EdgesGeometry(shape, 30),
          new THREE.LineBasicMaterial({ color: 0x1b1c1e, transparent: true, opacity: 0.55 })));
      this.box = shape.boundingBox.clone();
      const size = this.box.getSize(new THREE.Vector3());
      const squares = 2 * Math.ceil(Math.max(size.x, size.y) / (2 * SQUARE_MM) + 1);
      const bed = new THREE.GridHelper(squares * SQUARE_MM, squares, 0x8a8478, 0x8a8478);
      bed.rotation.x = Math.PI / 2;
      const middle = this.box.getCenter(new THREE.Vector3());
      bed.position.set(middle.x, middle.y, this.box.min.z - 0.02);
      bed.material.transparent = true;
      bed.material.opacity = 0.5;
      this.shown.add(bed);
    },

    clear() {
      for (const one of [...this.shown.children]) {
        this.shown.remove(one);
        one.geometry.dispose();
        one.material.dispose();
      }
    },

    // The camera so far back that the part is seen whole.
    fit() {
      if (!this.box || !this.camera) return;
      const middle = this.box.getCenter(new THREE.Vector3());
      const reach = this.box.getSize(new THREE.Vector3()).length() / 2;
      const half = Math.tan((this.camera.fov * Math.PI) / 360) * Math.min(1, this.camera.aspect);
      const far = (reach / half) * 1.02;
      this.camera.near = far / 100;
      this.camera.far = far * 20;
      this.camera.updateProjectionMatrix();
      this.controls.target.copy(middle);
      this.camera.position.copy(middle).addScaledVector(START, far);
      this.controls.update();
      this.draw();
    },

    resize() {
      const { clientWidth: width, clientHeight: height } = this.$el;
      if (!this.renderer || !width || !height) return;
      this.sharpness();
      this.renderer.setSize(width, height, false);
      this.camera.aspect = width / height;
      this.camera.updateProjectionMatrix();
      this.fit();
      this.draw();
    },

    draw() {
      if (this.due) return;
      this.due = requestAnimationFrame(() => {
        this.due = 0;
        // The lamp stands beside whoever looks, a little above.
        this.lamp.position.copy(this.camera.position).addScaledVector(this.camera.up, 40);
        this.lamp.target.position.copy(this.controls.target);
        this.lamp.target.updateMatrixWorld();
        this.renderer.render(this.scene, this.camera);
      });
    },

    home() {
      this.fit();
    },
  },
};
