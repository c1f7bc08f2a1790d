// A slider that is not pulled back by answers to where it was a moment ago, and that tells where
// it is only once what it told before has been heard: a busy server is told less.
const STILL_MS = 500, LOST_MS = 3000;

export default {
  template: `
    <input type="range" :min="low" :max="high" :step="step" :value="at" :aria-valuetext="said"
      @input="moved" @pointerdown="held = true" @pointerup="let_go" @pointercancel="let_go">`,
  props: { low: Number, high: Number, step: Number, value: Number, said: String, heard: Number },
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
      this.at = Number(event.target.value);
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
