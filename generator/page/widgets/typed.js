// A field that keeps what is being typed while other parts of the page change.
export default {
  template: `
    <textarea v-if="tall" :value="at" :data-typing="typing" @input="typed"></textarea>
    <input v-else :value="at" :data-typing="typing" @input="typed">`,
  props: { value: String, tall: Boolean },
  data() {
    return { at: this.value };
  },
  computed: {
    // Whether there is more in it than was taken.
    typing() {
      return this.at === this.value ? null : "yes";
    },
  },
  watch: {
    value() {
      this.at = this.value;
    },
  },
  methods: {
    take(value) {
      this.at = value;
    },
    typed(event) {
      this.at = event.target.value;
    },
  },
};
