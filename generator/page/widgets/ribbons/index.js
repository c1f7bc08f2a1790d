// Rings as flat ribbons that always face the camera and are shaded as round wire: two triangles a
// segment where a torus takes eight or more, and no light to work out but one look into the
// mirrored room. Rings of a few dots are cut out of one square each, where there is little time.
// So thousands of rings turn on a machine without a graphics processor too.
//
// Ribbons lie in the depth of the core circles. That is right wherever wires do not overlap.
import { THREE } from "nicegui-scene";
import { FOLDED } from "studio";

// Rings in one instance. One ring each would do where a graphics processor draws; software takes
// longer to begin an instance than to draw one ring.
const TOGETHER = 64;
// Of every ring: centre and core radius; axis and wire radius; colour.
const TEXELS = 3, FLOATS = 4 * TEXELS;
const RINGS_A_ROW = 256;
// Segments that a ring may have, and by how many dots its outline may be off.
const SQUARE = 2, SEGMENTS = [6, 8, 10, 12, 16, 20, 24, 32, 40, 48], OFF = 0.4;
// So that pictures differ least from those of three.js's own metal in the same room.
const GAIN = 1.12;
// Wire of fewer dots is shaded by its mean, which sparkles less; rings of fewer may be cut out of
// squares.
const THIN = 4, SMALL = 16;

// What a metal shows of the room.
const SHINE = `
uniform sampler2D room;
${FOLDED}
vec3 shine(vec3 metal, vec3 face, vec3 eye) {
  float away = 1.0 - clamp(dot(face, eye), 0.0, 1.0), away2 = away * away;
  vec3 sheen = metal + (1.0 - metal) * away2 * away2 * away * 0.3;
  return sheen * texture(room, folded(reflect(-eye, face))).rgb;
}`;

const WHERE = `
in vec3 at; // angle of a point of the outline, side of the ribbon, ring of the instance
in float first_ring; // of the instance
uniform highp sampler2D rings;
uniform int count;
#ifdef THIN
out vec3 shown;
#ifdef SMALL
out vec2 within;
flat out vec2 eye_scale; // from the whole ring to its eye
#endif
#else
flat out vec3 metal, to_eye;
out vec3 sideward, outward;
out float across;
#endif
${SHINE}

void main() {
  int ring = int(first_ring) + int(at.z);
  ivec2 first = ivec2(${TEXELS} * (ring % ${RINGS_A_ROW}), ring / ${RINGS_A_ROW});
  vec4 centre = texelFetch(rings, first, 0);
  vec4 axis = texelFetch(rings, first + ivec2(1, 0), 0);
  if (ring >= count || dot(axis.xyz, axis.xyz) < 0.5) {
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0); // out of sight
    return;
  }
  vec3 colour = texelFetch(rings, first + ivec2(2, 0), 0).rgb;
  vec3 eye = normalize(cameraPosition - centre.xyz);
  // Across the view in the ring's plane, where the seen ellipse is widest; and the way there that
  // is foreshortened by \`tilt\`.
  vec3 wide = cross(axis.xyz, eye);
  wide = dot(wide, wide) > 1e-8 ? normalize(wide) : normalize(
    cross(axis.xyz, abs(axis.x) < 0.7 ? vec3(1.0, 0.0, 0.0) : vec3(0.0, 1.0, 0.0)));
  vec3 short_way = cross(axis.xyz, wide), up = cross(eye, wide);
  float tilt = dot(axis.xyz, eye);
  float seen = max(abs(tilt), 0.03), way = tilt < 0.0 ? -1.0 : 1.0;
  // Points closer together at the narrow ends of the ellipse, halfway between even steps along
  // the ring and even turns of the outline, so that rings seen from the edge keep round ends.
  vec2 turn = normalize(vec2(cos(at.x), sqrt(seen) * sin(at.x)));
  vec3 core = centre.xyz + centre.w * (turn.x * wide + turn.y * short_way);
  vec3 along = turn.x * short_way - turn.y * wide;
  vec3 side = normalize(seen * turn.x * wide + way * turn.y * up);
  // Where the wire runs away from the eye its front is hidden, and what is seen is a round end.
  vec3 front = cross(side, along);
  float facing = dot(front, eye);
  front = normalize(mix(eye, facing < 0.0 ? -front : front, smoothstep(0.1, 0.6, abs(facing))));
  gl_Position = projectionMatrix * viewMatrix * vec4(core + at.y * axis.w * side, 1.0);
#ifdef SMALL
  // A corner of a square about the seen ellipse, as deep as the core circle's plane.
  within = sign(turn);
  vec2 grown = vec2(centre.w, centre.w * seen);
  vec2 rim = grown + axis.w, corner = within * rim;
  eye_scale = rim / max(grown - axis.w, 0.001 * axis.w);
  float deep = -way * within.y * centre.w * sqrt(1.0 - seen * seen);
  vec3 out_there = centre.xyz + corner.x * wide + corner.y * up + deep * eye;
  gl_Position = projectionMatrix * viewMatrix * vec4(out_there, 1.0);
#endif
#ifdef THIN
  // The mean across the wire.
  shown = 0.5 * (shine(colour, 0.8 * front + 0.6 * side, eye)
    + shine(colour, 0.8 * front - 0.6 * side, eye));
#else
  metal = colour;
  to_eye = eye;
  sideward = side;
  outward = front;
  across = at.y;
#endif
}`;

const LOOK = `
#ifdef THIN
in vec3 shown;
#ifdef SMALL
in vec2 within;
flat in vec2 eye_scale;
#endif
#else
flat in vec3 metal, to_eye;
in vec3 sideward, outward;
in float across;
#endif
out vec4 seen;
#define gl_FragColor seen
${SHINE}

void main() {
#ifdef SMALL
  vec2 hole = within * eye_scale;
  if (dot(within, within) > 1.0 || dot(hole, hole) < 1.0) discard;
#endif
#ifndef THIN
  float a = clamp(across, -1.0, 1.0);
  vec3 shown = ${GAIN.toFixed(2)} * shine(
    metal, normalize(a * sideward + sqrt(1.0 - a * a) * outward), to_eye);
#endif
  seen = vec4(shown, 1.0);
  #include <tonemapping_fragment>
  #include <colorspace_fragment>
}`;

// The points of so many ribbons, and their triangles.
function strips(together, segments) {
  const at = [], index = [];
  for (let ring = 0; ring < together; ring++) {
    for (let i = 0; i < segments; i++) {
      const angle = (2 * Math.PI * i) / segments, here = 2 * (ring * segments + i);
      const next = 2 * (ring * segments + ((i + 1) % segments));
      at.push(angle, -1, ring, angle, 1, ring);
      index.push(here, here + 1, next, next, here + 1, next + 1);
    }
  }
  return [new THREE.Float32BufferAttribute(at, 3), index];
}

// The corners of so many squares, and their triangles.
function squares(together) {
  const at = [], index = [];
  for (let ring = 0; ring < together; ring++) {
    for (const quarter of [1, 3, 5, 7]) at.push((quarter * Math.PI) / 4, 1, ring);
    index.push(...[0, 1, 2, 0, 2, 3].map((corner) => 4 * ring + corner));
  }
  return [new THREE.Float32BufferAttribute(at, 3), index];
}

// All rings, those together that lie together: halved across the longest side of their box until
// one instance can have them.
function neighbours(rings, floats) {
  const order = [], at = new THREE.Vector3();
  const part = (some) => {
    if (some.length <= TOGETHER) return order.push(...some);
    const box = new THREE.Box3();
    for (const ring of some) box.expandByPoint(at.fromArray(rings, floats * ring));
    const sides = box.getSize(at).toArray(), along = sides.indexOf(Math.max(...sides));
    some.sort((a, b) => rings[floats * a + along] - rings[floats * b + along]);
    const half = TOGETHER * Math.ceil(some.length / (2 * TOGETHER));
    part(some.slice(0, half));
    part(some.slice(half));
  };
  part(Array.from({ length: rings.length / floats }, (_, i) => i));
  return order;
}

// The fewest segments that show a circle of so many dots' radius as round, or else so many.
function segments(radius, most) {
  const needed = Math.PI / Math.acos(Math.max(0, 1 - OFF / Math.max(radius, OFF)));
  const wanted = SEGMENTS.find((one) => one >= needed) ?? SEGMENTS.at(-1);
  return SEGMENTS.findLast((one) => one <= Math.min(wanted, most)) ?? SEGMENTS[0];
}

export class Ribbons {
  // `uniforms.room` is what the metal mirrors, on a square.
  constructor() {
    this.uniforms = { rings: { value: null }, room: { value: null }, count: { value: 0 } };
    const paint = { glslVersion: THREE.GLSL3, vertexShader: WHERE, fragmentShader: LOOK,
      uniforms: this.uniforms, side: THREE.DoubleSide };
    this.round_wire = new THREE.ShaderMaterial(paint);
    this.thin_wire = new THREE.ShaderMaterial({ ...paint, defines: { THIN: "" } });
    this.small_ring = new THREE.ShaderMaterial({ ...paint, defines: { THIN: "", SMALL: "" } });
    this.mesh = new THREE.Mesh(new THREE.InstancedBufferGeometry(), this.round_wire);
    this.mesh.frustumCulled = false;
    this.mesh.visible = false;
  }

  // These rings: centre, axis, core radius and wire radius, that many floats apart.
  hold(rings, floats) {
    const count = rings.length / floats, table = this.uniforms.rings;
    const rows = Math.max(1, Math.ceil(count / RINGS_A_ROW));
    table.value?.dispose();
    this.table = new Float32Array(FLOATS * RINGS_A_ROW * rows);
    table.value = new THREE.DataTexture(
      this.table, TEXELS * RINGS_A_ROW, rows, THREE.RGBAFormat, THREE.FloatType);
    this.order = neighbours(rings, floats);
    this.core = this.wire = 0;
    this.order.forEach((ring, i) => {
      const [core, wire] = rings.subarray(floats * ring + 6, floats * ring + 8);
      this.table[FLOATS * i + 3] = core;
      this.table[FLOATS * i + 7] = wire;
      this.core = Math.max(this.core, core);
      this.wire = Math.max(this.wire, wire);
    });
    this.count = this.uniforms.count.value = count;
    this.together = Math.max(1, Math.min(TOGETHER, count));
    this.segments = 0; // none cut yet
    this.place(rings, floats);
  }

  // Other centres and axes of the same rings.
  place(poses, floats) {
    this.order.forEach((ring, i) => {
      for (let k = 0; k < 3; k++) {
        this.table[FLOATS * i + k] = poses[floats * ring + k];
        this.table[FLOATS * i + 4 + k] = poses[floats * ring + 3 + k];
      }
    });
    this.uniforms.rings.value.needsUpdate = true;
    this.bundles = [];
    for (let first = 0; first < this.count; first += this.together)
      this.bundles.push([first, this.round(first)]);
  }

  // A sphere round the rings of the instance that begins there.
  round(first) {
    const box = new THREE.Box3(), at = new THREE.Vector3();
    for (let i = first; i < Math.min(this.count, first + this.together); i++)
      box.expandByPoint(at.fromArray(this.table, FLOATS * i));
    const sphere = box.getBoundingSphere(new THREE.Sphere());
    sphere.radius += this.core + this.wire;
    return sphere;
  }

  paint(colours) {
    const colour = new THREE.Color();
    this.order.forEach((ring, i) => {
      colour.setRGB(...[0, 1, 2].map((c) => colours[3 * ring + c] / 255), THREE.SRGBColorSpace);
      colour.toArray(this.table, FLOATS * i + 8);
    });
    this.uniforms.rings.value.needsUpdate = true;
  }

  // Only what this camera sees, as round as can be seen at so many dots a millimetre, and of no
  // more triangles than that if possible; where there is no time, small rings out of squares.
  see(camera, dots, triangles, hurried) {
    camera.updateMatrixWorld();
    const view = new THREE.Frustum().setFromProjectionMatrix(
      new THREE.Matrix4().multiplyMatrices(camera.projectionMatrix, camera.matrixWorldInverse));
    const seen = this.bundles.filter(([, sphere]) => view.intersectsSphere(sphere));
    const rings = Math.max(1, seen.length * this.together);
    const small = hurried && 2 * (this.core + this.wire) * dots < SMALL;
    this.cut(small ? SQUARE : segments(this.core * dots, triangles / (2 * rings)));
    const first = this.mesh.geometry.getAttribute("first_ring");
    const wire = 2 * this.wire * dots < THIN ? this.thin_wire : this.round_wire;
    this.mesh.material = small ? this.small_ring : wire;
    seen.forEach(([ring], k) => first.setX(k, ring));
    first.needsUpdate = true;
    this.mesh.geometry.instanceCount = seen.length;
  }

  // Every ring in so many segments, or a square.
  cut(segments) {
    if (segments === this.segments) return;
    this.segments = segments;
    const shape = new THREE.InstancedBufferGeometry();
    const [at, index] = segments === SQUARE
      ? squares(this.together) : strips(this.together, segments);
    shape.setAttribute("at", at);
    shape.setIndex(index);
    const first = new Float32Array(this.bundles.length);
    shape.setAttribute("first_ring", new THREE.InstancedBufferAttribute(first, 1));
    this.mesh.geometry.dispose();
    this.mesh.geometry = shape;
  }

  dispose() {
    this.mesh.geometry.dispose();
    this.round_wire.dispose();
    this.thin_wire.dispose();
    this.small_ring.dispose();
    this.uniforms.rings.value?.dispose();
  }
}
