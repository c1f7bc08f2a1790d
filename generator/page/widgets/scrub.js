// Sliders that go through states which the view has been given, without asking the server.
const STEP_MS = 40;

export default {
  template: `
    <div class="scrub">
      <p class="scrub-said">{{ said }}</p>
      <div v-for="way in ways" :key="way.name" class="field">
        <label :for="id(way)"><span>{{ way.label }}</span><output>{{ now(way).short }}</output></label>
        <input type="range" min="0" :max="way.stops.length - 1" step="1" :id="id(way)"
          :value="at[way.name]" :aria-valuetext="now(way).said" @input="dragged(way, $event)">
        <div class="scrub-ends">
          <button v-for="end in way.ends" type="button" class="push" @click="glide(way, end.at)">
            <span>{{ end.text }}</span></button>
        </div>
      </div>
    </div>`,
  props: { ways: Array, view: Number, there: Boolean },
  data() {
    return { at: {}, said: "" };
  },
  created() {
    for (const way of this.ways) this.at[way.name] = way.rest;
    this.said = this.ways.length ? this.now(this.ways[0]).said : "";
  },
  unmounted() {
    clearInterval(this.gliding);
    clearTimeout(this.asked);
  },
  methods: {
    id(way) {
      return `scrub-${this.view}-${way.name}`;
    },
    now(way) {
      return way.stops[this.at[way.name]];
    },
    dragged(way, event) {
      clearInterval(this.gliding);
      this.go(way, Number(event.target.value));
    },
    // One way at a time: all others go back to where the piece is at rest.
    go(way, at) {
      for (const other of this.ways) this.at[other.name] = other === way ? at : other.rest;
      this.said = this.now(way).said;
      // The view may show something else by now, and is asked for once.
      if (this.there) getElement(this.view)?.pose(way.name, at);
      else if (!this.asked) this.asked = setTimeout(() => {
        this.asked = 0;
        this.$emit("begin", [way.name, this.at[way.name]]);
      }, STEP_MS);
    },
    glide(way, to) {
      clearInterval(this.gliding);
      if (matchMedia("(prefers-reduced-motion: reduce)").matches) return this.go(way, to);
      this.gliding = setInterval(() => {
        const at = this.at[way.name];
        if (at === to) return clearInterval(this.gliding);
        this.go(way, at + Math.sign(to - at));
      }, STEP_MS);
    },
  },
};
