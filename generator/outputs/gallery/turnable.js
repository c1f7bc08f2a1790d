"use strict";
// Turnable models of rings. Every model is a list of rings; one drawing context serves
// all of the page's canvases, as browsers allow only a few at a time.

const AROUND = 64, ACROSS = 24, STRIDE = 11;

const VERTEX = `#version 300 es
layout(location = 0) in vec2 turn;      // along the core circle, and across the wire
layout(location = 1) in vec3 centre;
layout(location = 2) in vec3 axis;
layout(location = 3) in vec2 radii;     // core, wire
layout(location = 4) in vec3 colour;
uniform mat3 view;
uniform vec3 middle;
uniform vec2 scale;                     // from mm to the canvas
uniform float depth;
out vec3 normal;
out vec3 metal;
void main() {
  vec3 side = abs(axis.x) < 0.6 ? vec3(1, 0, 0) : vec3(0, 1, 0);
  vec3 a = normalize(cross(axis, side)), b = cross(axis, a);
  vec3 out_ = cos(turn.x) * a + sin(turn.x) * b;
  vec3 n = cos(turn.y) * out_ + sin(turn.y) * axis;
  vec3 at = view * (centre + radii.x * out_ + radii.y * n - middle);
  normal = view * n;
  metal = colour;
  gl_Position = vec4(at.xy * scale, -at.z / depth, 1.0);
}`;

// The metal mirrors a studio with soft boxes, which stays where the viewer is.
const FRAGMENT = `#version 300 es
precision highp float;
in vec3 normal;
in vec3 metal;
out vec4 shown;
float box(vec3 d, float azimuth, float elevation, float wide, float tall) {
  float up = asin(clamp(d.y, -1.0, 1.0));
  float off = mod(atan(-d.z, d.x) - azimuth + 3.14159265, 6.2831853) - 3.14159265;
  float outside = length(vec2(abs(off) * cos(up) / wide, (up - elevation) / tall));
  return 1.0 / (1.0 + exp(min(5.0 * (outside - 1.0), 50.0)));
}
void main() {
  vec3 n = normalize(normal);
  float facing = max(n.z, 0.0);
  vec3 d = vec3(2.0 * facing * n.xy, 2.0 * facing * n.z - 1.0);
  float up = asin(clamp(d.y, -1.0, 1.0));
  float light = 0.55 + 0.28 * tanh(2.5 * (abs(up + 0.1) - 0.35))
    + 2.8 * box(d, -2.2, 0.85, 0.55, 0.35) + 2.0 * box(d, -0.9, 0.75, 0.40, 0.45)
    + 1.2 * box(d, 2.5, 0.40, 0.25, 0.55) + 0.7 * exp(-pow((up - 1.5708) / 0.5, 2.0));
  vec3 pale = metal + (1.0 - metal) * 0.5 * pow(1.0 - facing, 5.0);
  shown = vec4(pow(clamp(light * pale, 0.0, 1.0), vec3(1.0 / 2.2)), 1.0);
}`;

function built(gl) {
  const program = gl.createProgram();
  for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
    const shader = gl.createShader(kind);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  }
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error("no drawing program");
  gl.useProgram(program);

  const turns = [], faces = [];
  for (let i = 0; i < AROUND; i++)
    for (let j = 0; j < ACROSS; j++) {
      turns.push((2 * Math.PI * i) / AROUND, (2 * Math.PI * j) / ACROSS);
      const i1 = (i + 1) % AROUND, j1 = (j + 1) % ACROSS;
      const [a, b, c, d] = [[i, j], [i1, j], [i1, j1], [i, j1]].map(([p, q]) => p * ACROSS + q);
      faces.push(a, b, c, a, c, d);
    }
  gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
  gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(turns), gl.STATIC_DRAW);
  gl.enableVertexAttribArray(0);
  gl.vertexAttribPointer(0, 2, gl.FLOAT, false, 0, 0);
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
  gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, new Uint16Array(faces), gl.STATIC_DRAW);
  gl.enable(gl.DEPTH_TEST);
  return {
    program,
    faces: faces.length,
    rings: gl.createBuffer(),
    place: (name) => gl.getUniformLocation(program, name),
  };
}

function turned(yaw, pitch) {
  // Rows: right, up, towards the viewer; z is up in the model.
  const [cy, sy, cp, sp] = [Math.cos(yaw), Math.sin(yaw), Math.cos(pitch), Math.sin(pitch)];
  const rows = [[cy, sy, 0], [-sy * sp, cy * sp, cp], [sy * cp, -cy * cp, sp]];
  return new Float32Array([0, 1, 2].flatMap((column) => rows.map((row) => row[column])));
}

class Model {
  constructor(canvas, stage) {
    this.canvas = canvas;
    this.stage = stage;
    this.data = JSON.parse(canvas.dataset.rings);
    this.start = { yaw: -0.45, pitch: 0.6, near: 1 };
    Object.assign(this, this.start);
    this.listen();
  }

  listen() {
    const on = (name, act) => this.canvas.addEventListener(name, act);
    on("pointerdown", (event) => {
      this.canvas.setPointerCapture(event.pointerId);
      this.held = event.pointerId;
    });
    on("pointermove", (event) => {
      if (this.held === event.pointerId) this.turn(-event.movementX / 150, event.movementY / 150);
    });
    for (const name of ["pointerup", "pointercancel"]) on(name, () => (this.held = null));
    const keys = {
      ArrowLeft: () => this.turn(0.15, 0), ArrowRight: () => this.turn(-0.15, 0),
      ArrowUp: () => this.turn(0, 0.15), ArrowDown: () => this.turn(0, -0.15),
      PageUp: () => this.come(1.15), PageDown: () => this.come(1 / 1.15),
      Home: () => this.turn(0, 0, Object.assign(this, this.start)),
    };
    on("keydown", (event) => {
      if (!keys[event.key]) return;
      event.preventDefault();
      keys[event.key]();
    });
  }

  turn(right, up) {
    this.yaw += right;
    this.pitch = Math.max(-1.57, Math.min(1.57, this.pitch + up));
    this.draw();
  }

  come(nearer) {
    this.near = Math.max(0.5, Math.min(6, this.near * nearer));
    this.draw();
  }

  draw() {
    const { canvas, data } = this, { gl, made } = this.stage;
    const sharp = Math.min(window.devicePixelRatio || 1, 2);
    const width = Math.round(canvas.clientWidth * sharp);
    const height = Math.round(canvas.clientHeight * sharp);
    if (!width || !height) return;
    [canvas.width, canvas.height] = [gl.canvas.width, gl.canvas.height] = [width, height];
    gl.viewport(0, 0, width, height);
    gl.clearColor(0.957, 0.957, 0.961, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.bindBuffer(gl.ARRAY_BUFFER, made.rings);
    gl.bufferData(gl.ARRAY_BUFFER, new Float32Array(data.rings), gl.DYNAMIC_DRAW);
    let from = 0;
    [3, 3, 2, 3].forEach((size, at) => {
      gl.enableVertexAttribArray(at + 1);
      gl.vertexAttribPointer(at + 1, size, gl.FLOAT, false, 4 * STRIDE, 4 * from);
      gl.vertexAttribDivisor(at + 1, 1);
      from += size;
    });
    const reach = data.reach / this.near;
    const fit = Math.min(width / 1.1, (1.5 * height) / 1.1) / reach;
    gl.uniformMatrix3fv(made.place("view"), false, turned(this.yaw, this.pitch));
    gl.uniform3fv(made.place("middle"), data.middle);
    gl.uniform2f(made.place("scale"), (2 * fit) / width, (2 * fit) / height);
    gl.uniform1f(made.place("depth"), 4 * data.reach);
    gl.drawElementsInstanced(
      gl.TRIANGLES, made.faces, gl.UNSIGNED_SHORT, 0, data.rings.length / STRIDE
    );
    canvas.getContext("2d").drawImage(gl.canvas, 0, 0);
  }
}

function begin() {
  const gl = document.createElement("canvas").getContext("webgl2", { antialias: true });
  // Without it what stands in place of the models stays where it is.
  if (!gl) return;
  const stage = { gl, made: built(gl) };
  const models = new Map();
  const seen = new IntersectionObserver((entries) => {
    for (const { target, isIntersecting } of entries)
      if (isIntersecting) models.get(target).draw();
  });
  for (const canvas of document.querySelectorAll("canvas[data-rings]")) {
    models.set(canvas, new Model(canvas, stage));
    canvas.hidden = false;
    for (const instead of canvas.parentElement.querySelectorAll("img, p")) instead.hidden = true;
    seen.observe(canvas);
  }
  window.addEventListener("resize", () => models.forEach((model) => model.draw()));
}

begin();
