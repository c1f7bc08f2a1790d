// A field that keeps what is being typed while other parts of the page change.
export default {
  template: `
    <textarea v-if="tall" :value="at" @input="typed"></textarea>
    <input v-else :value="at" @input="typed">`,
  props: { value: String, tall: Boolean },
  data() {
    return { at: this.value };
  },
  watch: {
    value() {
      this.at = this.value;
    },
  },
  methods: {
    typed(event) {
      this.at = event.target.value;
    },
  },
};
