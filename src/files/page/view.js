// SPDX-License-Identifier: GPL-3.0-or-later
// The 3D view of report.html: shows the scene that stands as data in the page, with three.js (MIT licence). What the
// controls are and say is markup, written by page_view.cpp; without this script, or without WebGL, the page shows the
// sentence that stands in place of the view. Lengths are mm in the fixture frame, z up.
(function () {
    "use strict";
    const stage = document.getElementById("view-stage");
    const source = document.getElementById("view-data");
    if (!stage || !source || typeof THREE === "undefined") return;
    const at = (name) => document.getElementById("view-" + name);

    const context = { antialias: true, alpha: true, preserveDrawingBuffer: true };  // kept for printing
    let renderer;
    try {
        renderer = new THREE.WebGLRenderer(context);
    } catch (_) {
        return;  // no WebGL: the sentence stays
    }
    const data = JSON.parse(source.textContent);

    // ---- data into meshes

    function bytes(base64) {
        const text = atob(base64), list = new Uint8Array(text.length);
        for (let i = 0; i < text.length; ++i) list[i] = text.charCodeAt(i);
        return list;
    }
    function numbers(base64, width) {
        const raw = bytes(base64), view = new DataView(raw.buffer), count = raw.length / width;
        const list = width === 2 ? new Uint16Array(count) : new Uint32Array(count);
        for (let i = 0; i < count; ++i)
            list[i] = width === 2 ? view.getUint16(2 * i, true) : view.getUint32(4 * i, true);
        return list;
    }
    const low = new THREE.Vector3().fromArray(data.low), high = new THREE.Vector3().fromArray(data.high);
    const middle = low.clone().add(high).multiplyScalar(0.5), size = high.clone().sub(low);
    const reach = size.length();

    function shape(node) {
        const raw = numbers(node.points, 2), points = new Float32Array(raw.length);
        for (let i = 0; i < raw.length; ++i) {
            const axis = i % 3;
            points[i] = data.low[axis] + raw[i] / 65535 * (data.high[axis] - data.low[axis]);
        }
        const geometry = new THREE.BufferGeometry();
        geometry.setAttribute("position", new THREE.BufferAttribute(points, 3));
        geometry.setIndex(new THREE.BufferAttribute(numbers(node.corners, node.wide ? 4 : 2), 1));
        return geometry;
    }

    const pull = new THREE.Vector3().fromArray(data.pull), pull2 = new THREE.Vector3().fromArray(data.pull2);
    // Draft of a face toward the pull of its half, degrees.
    function drafts(faces, halves) {
        const p = faces.getAttribute("position").array, list = new Float32Array(p.length / 9);
        const a = new THREE.Vector3(), b = new THREE.Vector3(), c = new THREE.Vector3();
        for (let f = 0; f < list.length; ++f) {
            a.fromArray(p, 9 * f), b.fromArray(p, 9 * f + 3), c.fromArray(p, 9 * f + 6);
            const n = b.sub(a).cross(c.sub(a)).normalize();
            const out = n.dot(halves === null || halves[f] ? pull : pull2);
            list[f] = Math.asin(Math.max(-1, Math.min(1, out))) * 180 / Math.PI;
        }
        return list;
    }
    const bandOf = (draft) => {
        let band = 0;
        while (band < data.bands.length - 1 && draft >= data.bands[band].upTo) ++band;
        return band;
    };
    const bandColours = data.bands.map((band) => new THREE.Color(band.colour).convertSRGBToLinear());
    function coloured(geometry, halves) {
        const faces = geometry.index ? geometry.toNonIndexed() : geometry.clone(), list = drafts(faces, halves);
        const colours = new Float32Array(9 * list.length);
        for (let f = 0; f < list.length; ++f)
            for (let k = 0; k < 3; ++k) bandColours[bandOf(list[f])].toArray(colours, 9 * f + 3 * k);
        faces.setAttribute("color", new THREE.BufferAttribute(colours, 3));
        faces.computeVertexNormals();
        return { faces, list };
    }

    // ---- scene

    const scene = new THREE.Scene();
    const camera = new THREE.PerspectiveCamera(30, 1, reach / 100, reach * 20);
    camera.up.set(0, 0, 1);
    const lamp = new THREE.DirectionalLight(0xffffff, 0.5);
    scene.add(new THREE.HemisphereLight(0xffffff, 0x8a8578, 0.38), camera);
    camera.add(lamp);
    lamp.position.set(-0.4, 0.7, 1);
    const ink = new THREE.LineBasicMaterial();

    const items = data.nodes.map((node, order) => {
        const kind = data.kinds[node.kind], group = new THREE.Group();
        // Flat faces keep corners of their own, so that each has its own normal.
        const shared = shape(node), geometry = node.smooth ? shared : shared.toNonIndexed();
        geometry.computeVertexNormals();
        const colour = new THREE.Color().fromArray(node.colour);
        const material = new THREE.MeshLambertMaterial({
            color: colour,
            side: node.sheet ? THREE.DoubleSide : THREE.FrontSide,
            polygonOffset: true,  // the mould's surface lies on the plug's, drawn edges on both
            polygonOffsetFactor: node.sheet ? 0 : 1,
            polygonOffsetUnits: node.sheet ? 0 : 1,
        });
        const body = new THREE.Mesh(geometry, material);
        group.add(body);
        if (!node.sheet) {  // where a cut opens a solid, its inner sides are painted flat and look like the cut face
            const inner = new THREE.MeshBasicMaterial({ color: colour.clone().multiplyScalar(0.5), side: THREE.BackSide });
            group.add(new THREE.Mesh(geometry, inner));
        }
        if (!node.smooth) group.add(new THREE.LineSegments(new THREE.EdgesGeometry(shared, 25), ink));
        // Drawn in a fixed order, so that surfaces that touch look the same every time.
        group.children.forEach((shown, k) => { shown.renderOrder = 3 * order + k; });
        scene.add(group);
        const item = { node, kind, order, group, body, plain: { geometry, material }, drafted: null, drafts: null };
        body.userData.item = item;
        return item;
    });

    const draftMaterial = new THREE.MeshLambertMaterial({
        vertexColors: THREE.VertexColors, side: THREE.DoubleSide, polygonOffset: true,
        polygonOffsetFactor: 1, polygonOffsetUnits: 1,
    });
    const draftOnTop = draftMaterial.clone();
    draftOnTop.polygonOffset = false;
    // What is pointed out is seen through everything else.
    const pointedMaterial = new THREE.MeshLambertMaterial({
        color: 0xffc400, emissive: 0x6a4a00, transparent: true, opacity: 0.8, depthTest: false, depthWrite: false,
    });

    let pointed = null;
    function dress() {
        const byDraft = at("colour").value === "draft";
        at("legend").hidden = !byDraft;
        for (const item of items) {
            const shows = byDraft && item.node.drafts;
            if (shows && !item.drafted) {
                const halves = item.node.halves ? bytes(item.node.halves) : null;
                const made = coloured(item.plain.geometry, halves);
                item.drafted = made.faces;
                item.drafts = made.list;
            }
            item.body.geometry = shows ? item.drafted : item.plain.geometry;
            item.body.renderOrder = 3 * (item === pointed ? items.length : item.order);
            item.body.material = item === pointed ? pointedMaterial :
                shows ? (item.node.sheet ? draftOnTop : draftMaterial) : item.plain.material;
        }
        draw();
    }

    // ---- drawing, only when something changed

    renderer.gammaOutput = true;
    renderer.gammaFactor = 2.2;
    const canvas = renderer.domElement;
    canvas.tabIndex = 0;
    canvas.setAttribute("role", "img");
    canvas.setAttribute("aria-label", stage.dataset.label);
    canvas.setAttribute("aria-describedby", "view-say view-keys");
    stage.textContent = "";
    stage.appendChild(canvas);
    at("controls").hidden = false;

    let isAsked = false;
    function draw() {
        if (isAsked) return;
        isAsked = true;
        requestAnimationFrame(() => {
            isAsked = false;
            renderer.render(scene, camera);
            stage.dataset.drawn = String(Number(stage.dataset.drawn || 0) + 1);
        });
    }
    function fit() {
        const width = stage.clientWidth, height = stage.clientHeight;
        if (width === 0 || height === 0) return;
        renderer.setPixelRatio(Math.min(2, window.devicePixelRatio || 1));
        renderer.setSize(width, height, false);
        camera.aspect = width / height;
        camera.updateProjectionMatrix();
        draw();
    }
    function dye() {
        ink.color.set(getComputedStyle(stage).color);
        draw();
    }
    window.matchMedia("(prefers-color-scheme:dark)").addListener(dye);

    // ---- looking

    const control = new THREE.OrbitControls(camera, canvas);
    control.enableKeys = false;
    control.enableZoom = false;  // a wheel scrolls the page until the view is clicked
    control.rotateSpeed = 0.7;
    control.addEventListener("change", draw);
    canvas.addEventListener("focus", () => { control.enableZoom = true; });
    canvas.addEventListener("blur", () => { control.enableZoom = false; });
    canvas.addEventListener("touchstart", () => { control.enableZoom = true; });

    const directions = { aslant: [0.75, 1, 0.8], above: [0, 0.001, 1], end: [1, 0, 0.001], front: [0, 1, 0.001], below: [0.5, 0.8, -0.9] };
    const look = (name) => lookAlong(new THREE.Vector3().fromArray(directions[name]).normalize());
    /// From `away`, all of the fixture as far as it is pulled apart.
    function lookAlong(away) {
        const share = Number(at("apart").value) / 100 * data.step;
        const lifts = items.map((item) => item.kind.lift * share);
        const up = Math.max(...lifts), down = Math.min(...lifts);
        const half = THREE.Math.degToRad(camera.fov / 2);
        // The box seen from there must fit both ways; its half diagonal is more than enough when it is long and thin.
        const side = new THREE.Vector3(0, 0, 1).cross(away).normalize(), top = away.clone().cross(side);
        const spread = (axis) => 0.5 * (Math.abs(axis.x) * size.x + Math.abs(axis.y) * size.y + Math.abs(axis.z) * (size.z + up - down));
        const wide = Math.atan(Math.tan(half) * camera.aspect);
        const far = Math.max(spread(side) / Math.tan(wide), spread(top) / Math.tan(half));
        control.target.copy(middle).add(new THREE.Vector3(0, 0, (up + down) / 2));
        camera.position.copy(control.target).add(away.clone().multiplyScalar(1.04 * far + spread(away)));
        control.update();
        draw();
    }
    function turn(sideways, upward) {
        const round = new THREE.Spherical().setFromVector3(yUp(camera.position.clone().sub(control.target)));
        round.theta += sideways;
        round.phi = Math.max(0.02, Math.min(Math.PI - 0.02, round.phi + upward));
        camera.position.copy(control.target).add(zUp(new THREE.Vector3().setFromSpherical(round)));
        control.update();
    }
    const yUp = (v) => v.set(v.x, v.z, -v.y), zUp = (v) => v.set(v.x, -v.z, v.y);
    function near(factor) {
        camera.position.sub(control.target).multiplyScalar(factor).add(control.target);
        control.update();
    }

    // ---- controls

    const say = (text) => { at("say").textContent = text; };

    function showKinds() {
        const isShown = [];
        for (const box of document.querySelectorAll("#view-kinds input")) isShown[Number(box.dataset.kind)] = box.checked;
        for (const item of items) item.group.visible = isShown[item.node.kind] || item === pointed;
        draw();
    }
    function cut() {
        const place = data.cuts[Number(at("cut").value) - 1], keepsOther = at("other-side").checked;
        at("cut-at").textContent = place ? place.say : "whole";
        if (!place) {
            renderer.clippingPlanes = [];
        } else {
            const normal = new THREE.Vector3().setComponent(place.axis, keepsOther ? 1 : -1);
            renderer.clippingPlanes = [new THREE.Plane(normal, keepsOther ? -place.at : place.at)];
        }
        draw();
    }
    function spread() {
        const share = Number(at("apart").value) / 100;
        at("apart-by").textContent = share === 0 ? "together" : Math.round(share * 100) + " %";
        for (const item of items) {
            const along = item.kind.leavesAlongPull ? pull : new THREE.Vector3(0, 0, 1);
            item.group.position.copy(along).multiplyScalar(share * item.kind.lift * data.step);
        }
        const away = camera.position.clone().sub(control.target);
        lookAlong(away.lengthSq() > 0 ? away.normalize() : new THREE.Vector3(0, 0, 1));
    }
    function pointOut() {
        pointed = items.find((item) => item.node.id === at("point").value) || null;
        say(pointed ? pointed.node.say : stage.dataset.hint);
        showKinds();
        dress();
    }

    const caster = new THREE.Raycaster();
    function under(x, y) {
        const box = canvas.getBoundingClientRect();
        const place = new THREE.Vector2((x - box.left) / box.width * 2 - 1, 1 - (y - box.top) / box.height * 2);
        caster.setFromCamera(place, camera);
        const planes = renderer.clippingPlanes;
        const hits = caster.intersectObjects(items.filter((item) => item.group.visible).map((item) => item.body), false);
        return hits.find((hit) => planes.every((plane) => plane.distanceToPoint(hit.point) >= 0));
    }
    function words(hit) {
        const item = hit.object.userData.item;
        if (item.drafts && item.body.geometry === item.drafted) {
            const draft = item.drafts[hit.faceIndex];
            return item.node.say + " Draft here " + draft.toFixed(1) + " deg: " + data.bands[bandOf(draft)].name + ".";
        }
        return item.node.say;
    }
    let hovered = null;
    canvas.addEventListener("pointermove", (event) => {
        if (event.buttons !== 0) return;
        if (hovered === null) requestAnimationFrame(() => {
            const hit = under(hovered.x, hovered.y);
            hovered = null;
            if (!pointed) say(hit ? words(hit) : stage.dataset.hint);
        });
        hovered = { x: event.clientX, y: event.clientY };
    });
    canvas.addEventListener("click", (event) => {  // a finger has no hover
        const hit = under(event.clientX, event.clientY);
        if (hit && !pointed) say(words(hit));
    });

    for (const box of document.querySelectorAll("#view-kinds input")) box.addEventListener("change", showKinds);
    at("cut").addEventListener("input", cut);
    at("other-side").addEventListener("change", cut);
    at("apart").addEventListener("input", spread);
    at("colour").addEventListener("change", dress);
    at("point").addEventListener("change", pointOut);
    for (const button of document.querySelectorAll("#view-looks button"))
        button.addEventListener("click", () => look(button.dataset.look));

    function nudge(slider, by) {
        slider.value = String(Number(slider.value) + by);
        slider.dispatchEvent(new Event("input"));
    }
    const keys = {
        ArrowLeft: () => turn(-0.1, 0), ArrowRight: () => turn(0.1, 0),
        ArrowUp: () => turn(0, -0.1), ArrowDown: () => turn(0, 0.1),
        "+": () => near(0.9), "=": () => near(0.9), "-": () => near(1 / 0.9),
        ".": () => nudge(at("cut"), 1), ",": () => nudge(at("cut"), -1),
        "a": () => nudge(at("apart"), 10), "A": () => nudge(at("apart"), -10),
        "0": () => look("aslant"),
    };
    canvas.addEventListener("keydown", (event) => {
        if (event.ctrlKey || event.metaKey || event.altKey || !keys[event.key]) return;
        event.preventDefault();
        keys[event.key]();
    });

    // Browsers bring the controls back as they were left when a page is loaded again: the view follows them.
    window.addEventListener("resize", fit);
    fit();
    showKinds();
    cut();
    spread();
    pointOut();
    look("aslant");
    dye();
})();
