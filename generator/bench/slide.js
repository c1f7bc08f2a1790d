// A slider that is not pulled back by answers to where it was a moment ago.
const STILL_MS = 500;

export default {
  template: `
    <input type="range" :min="low" :max="high" :step="step" :value="at" :aria-valuetext="said"
      @input="moved" @pointerdown="held = true" @pointerup="let_go" @pointercancel="let_go">`,
  props: { low: Number, high: Number, step: Number, value: Number, said: String },
  data() {
    return { at: this.value };
  },
  watch: {
    value() {
      this.follow();
    },
  },
  methods: {
    moved(event) {
      this.at = Number(event.target.value);
      this.$emit("slid", this.at);
      this.still();
    },
    let_go() {
      this.held = false;
      this.still();
    },
    // Once it has been left alone for a while, it stands where the page says.
    still() {
      clearTimeout(this.waiting);
      this.waiting = setTimeout(() => {
        this.waiting = 0;
        this.follow();
      }, STILL_MS);
    },
    follow() {
      if (!this.held && !this.waiting) this.at = this.value;
    },
  },
};
