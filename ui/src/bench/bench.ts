// The bench: table, holding, blank and tool in the room. One plain module that is told what to show and draws when something changed;
// it knows nothing of pages or of the server.

import {
  AmbientLight,
  Box3,
  BoxGeometry,
  BufferAttribute,
  BufferGeometry,
  CanvasTexture,
  Color,
  CylinderGeometry,
  DirectionalLight,
  DoubleSide,
  EdgesGeometry,
  Group,
  LatheGeometry,
  Line,
  LineBasicMaterial,
  LineDashedMaterial,
  LineSegments,
  type Material,
  Mesh,
  MeshLambertMaterial,
  PerspectiveCamera,
  Raycaster,
  Scene,
  Sprite,
  SpriteMaterial,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";

import { seriesColour } from "./colours";
import { type BodyShape, outline, type SetupScene, type ToolShape } from "./scene";
import { type Ordered, ordered, type Surface } from "./surface";
import type { Point } from "./track";

export type ViewName = "corner" | "above" | "front" | "side";

/** What is pointed out in the room: a place, or the shortest way between two bodies. */
export interface Pointer {
  from: Point;
  to?: Point | undefined;
  signal: "DANGER" | "WARNING" | "CAUTION" | "NOTICE" | "";
}

export interface BenchColours {
  ground: string;
  ink: string;
  holding: string;
  table: string;
  blank: string;
  holder: string;
  shank: string;
  signal: Record<Pointer["signal"], string>;
}

/** What the bench shows, as numbers; for tests and for who cannot see it. */
export interface Shown {
  bodies: string[];
  triangles: number;
  /** Triangles drawn while it moves. */
  coarse: number;
  boundMm: number;
  /** The motion after which the metal is shown; undefined while only the blank is. */
  moment: number | undefined;
  tool: number | undefined;
  tip: Point | undefined;
  runs: Array<{ kind: number; triangles: number }>;
  pointers: number;
}

const SETTLE_MS = 180;
const LARGE = 500_000; // up to so many triangles the metal at rest is drawn with more pixels than the screen has
const SHARPEST = 2;
const PLAINEST = 0.5;
const FEWER = 0.75;
const SLOW_MS = 45; // a picture that takes longer is drawn with fewer pixels while it moves
const PAUSE_MS = 400;
const SEGMENTS = 48;
const ROOM = 0.12;
const SIGN = 0.045;
const VIEWS: Readonly<Record<ViewName, readonly [number, number, number]>> = {
  corner: [0.55, -1, 0.75],
  above: [0, -0.001, 1],
  front: [0, -1, 0.001],
  side: [1, 0, 0.001],
};

export class Bench {
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(32, 1, 1, 20_000);
  private readonly controls: OrbitControls;
  private readonly fixed = new Group();
  private readonly tools = new Map<number, Group>();
  private readonly toolPlace = new Group();
  private readonly pointed = new Group();
  private readonly way = new Group();
  private readonly metal: { full: Mesh | undefined; coarse: Mesh | undefined } = { full: undefined, coarse: undefined };
  private orderOf = new WeakMap<Mesh, Ordered>();
  private kindOf: (motion: number) => number = () => 0;
  private materials: Material[] = [];
  private colours: BenchColours;
  private stations: number[] = [];
  private tool: number | undefined;
  private tip: Point | undefined;
  private bounds = { full: 0, coarse: 0 };
  private moment: number | undefined;
  private setup: SetupScene | undefined;
  private expected: number | undefined;
  private moving = false;
  /** Pixels drawn for each of the page while it moves, across and down; fewer on a machine that is slow at it. */
  private quick = 1;
  private readonly beat = { at: 0, slow: 0 };
  private size = { width: 0, height: 0, ratio: 0 };
  private settle: ReturnType<typeof setTimeout> | undefined;
  private frame = 0;
  private drawn = 0;
  private readonly observer: ResizeObserver;
  private readonly raycaster = new Raycaster();

  constructor(
    readonly canvas: HTMLCanvasElement,
    colours: BenchColours,
    private readonly onPick: (motion: number) => void,
  ) {
    this.colours = colours;
    // Smooth edges by more pixels at rest and none while it moves: several samples a pixel cost a processor that draws three times.
    this.renderer = new WebGLRenderer({ canvas, antialias: false });
    this.camera.up.set(0, 0, 1);
    this.scene.add(this.fixed, this.toolPlace, this.pointed, this.way, new AmbientLight(0xffffff, 1.1));
    for (const [x, y, z, strength] of [[0.6, -1, 1.6, 1.7], [-1, 0.7, 0.9, 0.8]] as const) {
      const light = new DirectionalLight(0xffffff, strength);
      light.position.set(x, y, z);
      this.scene.add(light);
    }
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.zoomSpeed = 0.8;
    this.controls.addEventListener("change", this.draw);
    this.controls.addEventListener("start", this.startMoving);
    this.controls.addEventListener("end", this.endMoving);
    // The wheel belongs to the page until somebody has turned to the bench.
    this.controls.enableZoom = document.activeElement === canvas;
    canvas.addEventListener("focus", this.focused);
    canvas.addEventListener("blur", this.blurred);
    canvas.addEventListener("pointerdown", this.pressed);
    canvas.addEventListener("pointerup", this.released);
    this.observer = new ResizeObserver(this.resize);
    this.observer.observe(canvas);
    this.paint(colours);
    this.resize();
  }

  /** Take the colours of the theme. */
  paint(colours: BenchColours): void {
    this.colours = colours;
    this.scene.background = new Color(colours.ground);
    if (this.setup !== undefined) this.build(this.setup);
    this.draw();
  }

  /** Table, holding, blank and the tools of a setup; looks at it from the corner. `stations` in the order of their first use. */
  setScene(scene: SetupScene, stations: readonly number[]): void {
    this.dropMetal();
    this.moment = undefined;
    this.setup = scene;
    this.stations = [...stations];
    this.build(scene);
    this.setTool(undefined, undefined);
    this.view("corner");
  }

  private build(scene: SetupScene): void {
    clear(this.fixed);
    clear(this.toolPlace);
    this.tools.clear();
    for (const body of scene.bodies) this.fixed.add(this.body(body));
    if (scene.blank !== null && this.moment === undefined) this.fixed.add(this.body(scene.blank));
    for (const [station, tool] of Object.entries(scene.tools)) {
      const group = this.toolGroup(tool, Number(station));
      this.tools.set(Number(station), group);
      this.toolPlace.add(group);
    }
    for (const material of this.materials) material.dispose();
    this.materials = [this.lambert(this.colours.blank), ...this.stations.map((_, index) => this.lambert(seriesColour(index)))];
    for (const mesh of [this.metal.full, this.metal.coarse]) if (mesh !== undefined) mesh.material = this.materials;
    this.setTool(this.tool, this.tip);
  }

  /** The metal of another moment will come: until then what is shown stays coarse, so that it does not hold up what comes. */
  expect(moment: number): void {
    if (this.expected === moment) return;
    this.expected = moment;
    this.choose();
  }

  /** The metal after a motion, in full or coarse for moving. `toolOf` tells the station whose motion it was. */
  setMetal(surface: Surface, toolOf: (motion: number) => number, moment: number): void {
    this.kindOf = (motion) => (motion < 0 ? 0 : this.stations.indexOf(toolOf(motion)) + 1);
    const order = ordered(surface, this.kindOf, this.stations.length);
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(surface.corners, 3));
    geometry.setIndex(new BufferAttribute(order.index, 1));
    for (const run of order.runs) geometry.addGroup(run.start, run.count, run.kind);
    const mesh = new Mesh(geometry, this.materials);
    this.orderOf.set(mesh, order);
    if (this.moment !== moment) this.dropMetal();
    this.moment = moment;
    const which = surface.boundMm > 0 ? "coarse" : "full";
    this.metal[which]?.geometry.dispose();
    if (this.metal[which] !== undefined) this.scene.remove(this.metal[which]);
    for (const child of this.fixed.children.filter((one) => one.userData["role"] === "blank")) this.fixed.remove(child);
    this.metal[which] = mesh;
    this.bounds[which] = surface.boundMm;
    this.scene.add(mesh);
    this.choose();
  }

  /** The tool with its tip at a place in W; no tool where it is not known. */
  setTool(station: number | undefined, tip: Point | undefined): void {
    this.tool = station;
    this.tip = tip;
    if (tip !== undefined && this.metal.full !== undefined && !this.toolPlace.position.equals(new Vector3(...tip))) {
      this.startMoving();
      this.endMoving();
    }
    for (const [number, group] of this.tools) group.visible = number === station && tip !== undefined;
    if (tip !== undefined) this.toolPlace.position.set(...tip);
    this.draw();
  }

  /** The tip's way just before and after the moment: what was cut solid, rapid dotted. */
  setWay(points: readonly Point[], rapid: readonly boolean[]): void {
    clear(this.way);
    for (const dotted of [false, true]) {
      const ends: Vector3[] = [];
      for (let at = 1; at < points.length; at++) {
        const from = points[at - 1];
        const to = points[at];
        if (from !== undefined && to !== undefined && (rapid[at] ?? false) === dotted) ends.push(new Vector3(...from), new Vector3(...to));
      }
      if (ends.length === 0) continue;
      const material = dotted
        ? new LineDashedMaterial({ color: this.colours.ink, dashSize: 1.5, gapSize: 3 })
        : new LineBasicMaterial({ color: this.colours.ink });
      const lines = new LineSegments(new BufferGeometry().setFromPoints(ends), material);
      lines.computeLineDistances();
      this.way.add(lines);
    }
    this.draw();
  }

  /** Point out places, each with the sign of its word: where bodies meet, or how close they come. */
  setPointers(pointers: readonly Pointer[]): void {
    clear(this.pointed);
    for (const one of pointers) {
      if (one.to !== undefined) {
        const ends = [new Vector3(...one.from), new Vector3(...one.to)];
        const seen = new LineBasicMaterial({ color: this.colours.signal[one.signal], depthTest: false, transparent: true });
        const line = new Line(new BufferGeometry().setFromPoints(ends), seen);
        line.renderOrder = 10;
        this.pointed.add(line);
      }
      const sign = new Sprite(new SpriteMaterial({ map: this.sign(one.signal), depthTest: false, sizeAttenuation: false }));
      sign.position.set(...one.from);
      sign.center.set(0.5, 0);
      sign.scale.setScalar(SIGN);
      sign.renderOrder = 11;
      this.pointed.add(sign);
    }
    this.draw();
  }

  /** A sign as a picture: a triangle with a mark, or a ring for what is only measured. */
  private sign(signal: Pointer["signal"]): CanvasTexture {
    const picture = document.createElement("canvas");
    picture.width = picture.height = 64;
    const pen = picture.getContext("2d");
    if (pen !== null) {
      pen.fillStyle = this.colours.signal[signal];
      pen.strokeStyle = this.colours.ink;
      pen.lineWidth = 4;
      pen.beginPath();
      if (signal === "" || signal === "NOTICE") pen.arc(32, 46, 14, 0, 2 * Math.PI);
      else {
        pen.moveTo(32, 4);
        pen.lineTo(60, 60);
        pen.lineTo(4, 60);
        pen.closePath();
      }
      pen.fill();
      pen.stroke();
      if (signal !== "" && signal !== "NOTICE") {
        pen.fillStyle = signal === "DANGER" ? "#ffffff" : "#000000";
        pen.fillRect(29, 24, 6, 18);
        pen.fillRect(29, 47, 6, 6);
      }
    }
    return new CanvasTexture(picture);
  }

  /** Look at everything from one side. */
  view(name: ViewName): void {
    const box = this.aim();
    const centre = box.getCenter(new Vector3());
    const radius = Math.max(box.getSize(new Vector3()).length() / 2, 10);
    const half = ((this.camera.fov / 2) * Math.PI) / 180;
    const away = (radius / Math.sin(half)) * Math.max(1, 1 / Math.max(this.camera.aspect, 0.1)) * 0.82;
    this.camera.position.copy(centre).addScaledVector(new Vector3(...VIEWS[name]).normalize(), away);
    this.controls.target.copy(centre);
    this.controls.update();
    this.draw();
  }

  /** Turn, shift or come closer by a step, for keys. */
  step(what: "left" | "right" | "up" | "down" | "closer" | "farther"): void {
    const offset = this.camera.position.clone().sub(this.controls.target);
    const angle = Math.PI / 18;
    if (what === "left" || what === "right") offset.applyAxisAngle(this.camera.up, what === "left" ? -angle : angle);
    else if (what === "closer" || what === "farther") offset.multiplyScalar(what === "closer" ? 0.85 : 1 / 0.85);
    else {
      const across = new Vector3().crossVectors(this.camera.up, offset).normalize();
      const polar = offset.angleTo(this.camera.up);
      const wanted = Math.min(Math.max(polar + (what === "up" ? -angle : angle), 0.01), Math.PI - 0.01);
      offset.applyAxisAngle(across, wanted - polar);
    }
    this.camera.position.copy(this.controls.target).add(offset);
    this.startMoving();
    this.controls.update();
    this.draw();
    this.endMoving();
  }

  /** Write down what is shown on the element itself: for tests, and for programs that look at the page. */
  tell(): void {
    this.canvas.dataset["shown"] = JSON.stringify(this.shown());
  }

  /** What is shown, as numbers. */
  shown(): Shown {
    const mesh = this.visibleMetal();
    const order = mesh === undefined ? undefined : this.orderOf.get(mesh);
    return {
      bodies: this.fixed.children.map((one) => one.name),
      triangles: order === undefined ? 0 : order.motion.length,
      coarse: this.metal.coarse === undefined ? 0 : (this.orderOf.get(this.metal.coarse)?.motion.length ?? 0),
      moment: this.moment,
      boundMm: mesh === undefined ? 0 : mesh === this.metal.full ? this.bounds.full : this.bounds.coarse,
      tool: this.tip === undefined ? undefined : this.tool,
      tip: this.tip,
      runs: order === undefined ? [] : order.runs.map((run) => ({ kind: run.kind, triangles: run.count / 3 })),
      pointers: this.pointed.children.length,
    };
  }

  /** The motion whose surface is under a place of the canvas (0 to 1 from the left and from the top); undefined where there is none. */
  motionAt(across: number, down: number): number | undefined {
    const mesh = this.visibleMetal();
    const order = mesh === undefined ? undefined : this.orderOf.get(mesh);
    if (mesh === undefined || order === undefined) return undefined;
    this.raycaster.setFromCamera(new Vector2(2 * across - 1, 1 - 2 * down), this.camera);
    const bodies = this.fixed.children.flatMap((group) => group.children.filter((one) => one instanceof Mesh));
    const hit = this.raycaster.intersectObjects([mesh, ...bodies], false)[0];
    if (hit === undefined || hit.object !== mesh || hit.faceIndex === null || hit.faceIndex === undefined) return undefined;
    const motion = order.motion[hit.faceIndex] ?? -1;
    return motion < 0 ? undefined : motion;
  }

  /** Let everything go. */
  dispose(): void {
    this.observer.disconnect();
    this.controls.dispose();
    clearTimeout(this.settle);
    cancelAnimationFrame(this.frame);
    for (const [name, listener] of [["focus", this.focused], ["blur", this.blurred]] as const) this.canvas.removeEventListener(name, listener);
    this.canvas.removeEventListener("pointerdown", this.pressed);
    this.canvas.removeEventListener("pointerup", this.released);
    for (const group of [this.fixed, this.toolPlace, this.pointed, this.way]) clear(group);
    this.dropMetal();
    for (const material of this.materials) material.dispose();
    this.renderer.dispose();
    this.renderer.forceContextLoss();
  }

  /** Let the surfaces of another moment go. */
  private dropMetal(): void {
    for (const which of ["full", "coarse"] as const) {
      const mesh = this.metal[which];
      if (mesh === undefined) continue;
      this.scene.remove(mesh);
      mesh.geometry.dispose();
      this.metal[which] = undefined;
    }
  }

  private visibleMetal(): Mesh | undefined {
    const hurried = this.moving || (this.expected !== undefined && this.expected !== this.moment);
    return hurried ? (this.metal.coarse ?? this.metal.full) : (this.metal.full ?? this.metal.coarse);
  }

  private choose(): void {
    const visible = this.visibleMetal();
    for (const mesh of [this.metal.full, this.metal.coarse]) if (mesh !== undefined) mesh.visible = mesh === visible;
    this.tell();
    this.draw();
  }

  private readonly focused = (): void => {
    this.controls.enableZoom = true;
  };

  private readonly blurred = (): void => {
    this.controls.enableZoom = false;
  };

  private pressedAt: { x: number; y: number } | undefined;

  private readonly pressed = (event: PointerEvent): void => {
    this.pressedAt = { x: event.clientX, y: event.clientY };
    this.canvas.focus({ preventScroll: true });
  };

  private readonly released = (event: PointerEvent): void => {
    const from = this.pressedAt;
    this.pressedAt = undefined;
    if (from === undefined || Math.hypot(event.clientX - from.x, event.clientY - from.y) > 5) return;
    const bounds = this.canvas.getBoundingClientRect();
    const motion = this.motionAt((event.clientX - bounds.left) / bounds.width, (event.clientY - bounds.top) / bounds.height);
    if (motion !== undefined) this.onPick(motion);
  };

  private readonly startMoving = (): void => {
    clearTimeout(this.settle);
    if (this.moving) return;
    this.moving = true;
    this.beat.at = 0;
    this.quick = Math.min(1, this.quick / FEWER);
    this.choose();
  };

  private readonly endMoving = (): void => {
    clearTimeout(this.settle);
    this.settle = setTimeout(() => {
      this.moving = false;
      this.choose();
    }, SETTLE_MS);
  };

  private readonly resize = (): void => {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    if (width === 0 || height === 0) return;
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    this.draw();
  };

  /** Draw once with the next frame of the browser, however many things changed. */
  private readonly draw = (): void => {
    if (this.frame !== 0) return;
    this.frame = requestAnimationFrame(() => {
      this.frame = 0;
      this.pace();
      this.fit();
      this.renderer.render(this.scene, this.camera);
      this.canvas.dataset["drawn"] = String(++this.drawn);
    });
  };

  /** While it moves: fewer pixels where pictures come too slowly. */
  private pace(): void {
    const now = performance.now();
    const took = now - this.beat.at;
    if (this.moving && this.beat.at > 0 && took < PAUSE_MS) this.beat.slow = took > SLOW_MS ? this.beat.slow + 1 : Math.max(this.beat.slow - 1, 0);
    this.beat.at = now;
    if (this.beat.slow < 3) return;
    this.beat.slow = 0;
    this.quick = Math.max(PLAINEST, this.quick * FEWER);
  }

  /** As many pixels as this picture is worth. */
  private fit(): void {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    if (width === 0 || height === 0) return;
    const screen = Math.min(window.devicePixelRatio || 1, SHARPEST);
    const { full } = this.metal;
    const final = full !== undefined && this.visibleMetal() === full && (this.orderOf.get(full)?.motion.length ?? 0) <= LARGE;
    const ratio = this.moving ? Math.min(screen, this.quick) : final ? SHARPEST : screen;
    if (this.size.width === width && this.size.height === height && this.size.ratio === ratio) return;
    this.size = { width, height, ratio };
    this.renderer.setPixelRatio(ratio);
    this.renderer.setSize(width, height, false);
  }

  /** What the views look at: the blank with some room around it; the holding where there is no blank. */
  private aim(): Box3 {
    const box = new Box3();
    for (const one of this.fixed.children) if (one.userData["role"] === "blank") box.expandByObject(one);
    const metal = this.visibleMetal();
    if (metal !== undefined) box.expandByObject(metal);
    if (box.isEmpty()) for (const one of this.fixed.children) if (one.userData["role"] !== "table") box.expandByObject(one);
    if (box.isEmpty()) box.set(new Vector3(-50, -50, -50), new Vector3(50, 50, 50));
    return box.expandByScalar(ROOM * box.getSize(new Vector3()).length());
  }

  private lambert(colour: string): MeshLambertMaterial {
    return new MeshLambertMaterial({ color: colour, flatShading: true, side: DoubleSide });
  }

  private body(body: BodyShape): Group {
    const group = new Group();
    group.name = body.name;
    group.userData["role"] = body.role;
    const colour = body.role === "blank" ? this.colours.blank : body.role === "table" ? this.colours.table : this.colours.holding;
    const geometry = bodyGeometry(body);
    const edges = new LineSegments(new EdgesGeometry(geometry, 25), new LineBasicMaterial({ color: this.colours.ink, transparent: true, opacity: 0.7 }));
    group.add(new Mesh(geometry, this.lambert(colour)), edges);
    return group;
  }

  private toolGroup(tool: ToolShape, station: number): Group {
    const group = new Group();
    group.name = tool.name;
    const cutting = seriesColour(Math.max(this.stations.indexOf(station), 0));
    const { holder, shank } = this.colours;
    const colour: Record<string, string> = { cutting, neck: shank, shank, holder, nose: holder };
    for (const piece of tool.pieces) {
      const profile = outline(piece).map(([r, z]) => new Vector2(r, z));
      const geometry = new LatheGeometry(profile, SEGMENTS).rotateX(Math.PI / 2);
      const material = this.lambert(colour[piece.part] ?? holder);
      if (piece.part === "nose") Object.assign(material, { transparent: true, opacity: 0.35, depthWrite: false });
      group.add(new Mesh(geometry, material));
    }
    return group;
  }
}

function bodyGeometry(body: BodyShape): BufferGeometry {
  if (body.box) {
    const [x0, y0, z0] = body.box.low;
    const [x1, y1, z1] = body.box.high;
    return new BoxGeometry(x1 - x0, y1 - y0, z1 - z0).translate((x0 + x1) / 2, (y0 + y1) / 2, (z0 + z1) / 2);
  }
  if (body.cylinder) {
    const { radius, bottom, top, centre } = body.cylinder;
    const geometry = new CylinderGeometry(radius, radius, top - bottom, SEGMENTS).rotateX(Math.PI / 2);
    return geometry.translate(centre[0], centre[1], (bottom + top) / 2);
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(new Float32Array(body.mesh?.triangles ?? []), 3));
  return geometry;
}

function clear(group: Group): void {
  for (const child of [...group.children]) {
    child.traverse((one) => {
      if (one instanceof Sprite) {
        one.material.map?.dispose();
        one.material.dispose();
      } else if (one instanceof Mesh || one instanceof Line) {
        one.geometry.dispose();
        for (const material of [one.material].flat()) if (material instanceof Object && "dispose" in material) material.dispose();
      }
    });
    group.remove(child);
  }
}
