// The browser's Back and Forward, and the keys that undo and redo.
const ASIDE = "input[type=search]";

export default {
  template: `<span hidden></span>`,
  mounted() {
    addEventListener("popstate", this.went);
    addEventListener("keydown", this.pressed);
  },
  unmounted() {
    removeEventListener("popstate", this.went);
    removeEventListener("keydown", this.pressed);
  },
  methods: {
    // The address of what is shown; a new one is gone back from.
    show(serial, address, is_new) {
      const told = { serial };
      if (is_new) history.pushState(told, "", address);
      else history.replaceState(told, "", address);
    },
    went(event) {
      this.$emit("went", { serial: event.state?.serial ?? -1, query: location.search.slice(1) });
    },
    pressed(event) {
      if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
      const key = event.key.toLowerCase();
      const undo = key === "z" && !event.shiftKey;
      const redo = (key === "z" && event.shiftKey) || (key === "y" && !event.shiftKey);
      // What is being typed is the browser's own to undo, until it is taken.
      const { target } = event;
      if (!(undo || redo) || target.matches?.(ASIDE) || target.dataset?.typing) return;
      event.preventDefault();
      this.$emit(undo ? "undo" : "redo");
    },
  },
};
