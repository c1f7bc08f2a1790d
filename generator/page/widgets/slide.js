// A slider that is not pulled back by answers to where it was a moment ago, and that tells where
// it is only once what it told before has been heard: a busy server is told less.
const STILL_MS = 500, LOST_MS = 3000;
// It is at a stop that is so near.
const SAME = 2e-3;

export default {
  template: `
    <input type="range" :min="low" :max="high" :step="step" :value="at" :aria-valuetext="said"
      @input="moved" @keydown="stepped" @pointerdown="held = true" @pointerup="let_go" @pointercancel="let_go">`,
  props: {
    low: Number, high: Number, step: Number, value: Number, said: String, heard: Number,
    stops: Array, // where it stops; nothing or none for everywhere
  },
  data() {
    return { at: this.value };
  },
  watch: {
    value() {
      this.follow();
    },
    heard() {
      this.is_heard();
    },
  },
  methods: {
    moved(event) {
      const at = Number(event.target.value);
      const off = (one) => Math.abs(one - at);
      this.go_to(this.stops?.length ? this.stops.reduce((a, b) => (off(b) < off(a) ? b : a)) : at);
      event.target.value = this.at;
    },
    // From stop to stop by the arrow keys.
    stepped(event) {
      const up = ["ArrowRight", "ArrowUp"].includes(event.key);
      if (!this.stops?.length || (!up && !["ArrowLeft", "ArrowDown"].includes(event.key))) return;
      event.preventDefault();
      const next = up
        ? this.stops.find((one) => one > this.at + SAME)
        : this.stops.findLast((one) => one < this.at - SAME);
      if (next !== undefined) this.go_to(next);
    },
    go_to(at) {
      this.at = at;
      this.still();
      if (this.telling) this.untold = true;
      else this.tell();
    },
    tell() {
      this.untold = false;
      this.$emit("slid", this.at);
      this.telling = setTimeout(() => this.is_heard(), LOST_MS);
    },
    is_heard() {
      clearTimeout(this.telling);
      this.telling = 0;
      if (this.untold) this.tell();
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
