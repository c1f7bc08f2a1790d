// The room that the metal of rings mirrors: dim, with soft boxes above and to the sides.
import { THREE } from "nicegui-scene";

// Dots along the square's side; draws from the lobe of directions that one dot mirrors, and the
// power of its cosine, so that pictures differ least from three.js's metal of roughness 0.27.
const SIDE = 32, DRAWS = 128, LOBE = 20;
// Dots along each face of the room that three.js's metal mirrors. It is too rough to show the
// difference to more, which take software seconds.
const FACE = 64;

function box(colour, strength, size, place) {
  const paint = new THREE.MeshBasicMaterial({ color: colour });
  paint.color.multiplyScalar(strength);
  const lamp = new THREE.Mesh(new THREE.BoxGeometry(...size), paint);
  lamp.position.set(...place);
  return lamp;
}

export function studio() {
  const room = new THREE.Scene();
  room.add(
    new THREE.Mesh(new THREE.SphereGeometry(12, 32, 16),
      new THREE.MeshBasicMaterial({ color: 0x8b9096, side: THREE.BackSide })),
    box(0xffffff, 5, [7, 7, 0.2], [0, 0, 8]),
    box(0xfff4e6, 4, [0.2, 5, 4], [-8, -2, 3]),
    box(0xe6f0ff, 2.5, [0.2, 4, 5], [8, -1, 1]),
    box(0xffffff, 2, [6, 0.2, 2.5], [0, -9, 2]),
    box(0x1b1c1e, 1, [14, 14, 0.2], [0, 0, -8]),
  );
  return room;
}

// What a slightly rough metal mirrors of a room, for three.js's own materials: a target, whose
// texture it is.
export function mirrored(renderer, room) {
  const maker = new THREE.PMREMGenerator(renderer);
  const target = maker.fromScene(room, 0.03, 0.1, 100, { size: FACE });
  maker.dispose();
  return target;
}

// Directions on a square, as an octahedron unfolded: quicker to look up than a cube.
export const FOLDED = `
vec2 folded(vec3 to) {
  vec3 flat_to = to / (abs(to.x) + abs(to.y) + abs(to.z));
  vec2 turned = (1.0 - abs(flat_to.yx)) * vec2(
    flat_to.x < 0.0 ? -1.0 : 1.0, flat_to.y < 0.0 ? -1.0 : 1.0);
  return 0.5 + 0.5 * (flat_to.z < 0.0 ? turned : flat_to.xy);
}`;

const SPREAD = `
uniform samplerCube room;
in vec2 at;
out vec4 seen;

void main() {
  vec2 square = 2.0 * at - 1.0;
  vec3 to = vec3(square, 1.0 - abs(square.x) - abs(square.y));
  if (to.z < 0.0)
    to.xy = (1.0 - abs(to.yx)) * vec2(to.x < 0.0 ? -1.0 : 1.0, to.y < 0.0 ? -1.0 : 1.0);
  to = normalize(to);
  vec3 beside = normalize(cross(to, abs(to.z) < 0.7 ? vec3(0, 0, 1) : vec3(1, 0, 0)));
  vec3 above = cross(to, beside), sum = vec3(0.0);
  // Even draws from a lobe about the mirrored direction, turned by the golden angle.
  for (int i = 0; i < DRAWS; i++) {
    float high = pow((float(i) + 0.5) / float(DRAWS), 1.0 / (LOBE + 1.0));
    float turn = 2.39996 * float(i), wide = sqrt(1.0 - high * high);
    vec3 way = high * to + wide * (cos(turn) * beside + sin(turn) * above);
    sum += textureLod(room, way, 2.0).rgb;
  }
  seen = vec4(sum / float(DRAWS), 1.0);
}`;

// The same, for materials of our own, on a small square that `folded` finds a direction on.
export function mirrored_on_a_square(renderer, room) {
  const cube = new THREE.WebGLCubeRenderTarget(64, {
    type: THREE.HalfFloatType, generateMipmaps: true, minFilter: THREE.LinearMipmapLinearFilter });
  new THREE.CubeCamera(0.1, 50, cube).update(renderer, room);
  const square = new THREE.WebGLRenderTarget(SIDE, SIDE, { type: THREE.HalfFloatType });
  const spread = new THREE.ShaderMaterial({
    glslVersion: THREE.GLSL3, depthTest: false, depthWrite: false, toneMapped: false,
    defines: { DRAWS, LOBE: LOBE.toFixed(1) }, uniforms: { room: { value: cube.texture } },
    vertexShader: "out vec2 at; void main() { at = uv; gl_Position = vec4(position.xy, 0, 1); }",
    fragmentShader: SPREAD });
  const sheet = new THREE.Mesh(new THREE.PlaneGeometry(2, 2), spread);
  const before = renderer.getRenderTarget();
  renderer.setRenderTarget(square);
  renderer.render(sheet, new THREE.Camera());
  renderer.setRenderTarget(before);
  for (const used of [cube, spread, sheet.geometry]) used.dispose();
  return square;
}
