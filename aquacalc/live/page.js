// Sliders, pictures and words of a live page. All that is worked out, drawn or said comes from `engine`.
(function () {
"use strict";
const block = id => JSON.parse(document.getElementById(id).textContent);
const data = block("aquacalc-plan"), kept = block("aquacalc-moved");
const start = engine.read(data.plan), sizes = data.sliders.map(s => engine.read(s.sizes));
const within = (k, n) => Math.min(Math.max(Math.round(n), data.sliders[k].low), data.sliders[k].high);
const numbers = data.sliders.map((s, k) => kept.numbers && Number.isFinite(kept.numbers[k]) ? within(k, kept.numbers[k]) : null);
const rows = [...document.querySelectorAll(".slider")], stage = document.querySelector(".stage");
let plan = start, waiting = false;

function settings() {
    return data.sliders.flatMap((s, k) => numbers[k] === null ? [] : [
        [s.key, s.place, s.sizes.length ? sizes[k][numbers[k]] : numbers[k] * s.per / s.over]]);
}
function written(k) {  // as the plan's file has it
    const s = data.sliders[k];
    return `${(numbers[k] * s.step).toFixed(s.decimals)}${s.unit ? " " + s.unit : ""}`;
}
function words(k) {
    if (numbers[k] === null) return data.sliders[k].words;
    return sizes[k].length ? sizes[k][numbers[k]].size : written(k);
}

// The plan's text: each piece as it was, or with the values of now.
function valueText(path) {
    const value = engine.valueAt(plan, path.fields);
    if (value === path.start) return path.text;
    if (typeof value === "string") return JSON.stringify(value);
    const own = data.sliders.findIndex((s, k) =>
        s.path === path.path && numbers[k] !== null && numbers[k] * s.per / s.over === value);
    if (own >= 0) return data.sliders[own].unit ? JSON.stringify(written(own)) : written(own);
    return JSON.stringify(`${value} m`);
}
function toml() {
    if (numbers.every(n => n === null)) return data.toml;
    return data.pieces.map(piece => {
        const paths = (piece.after || []).filter(part => typeof part === "number").map(k => data.paths[k]);
        if (paths.every(path => engine.valueAt(plan, path.fields) === path.start)) return piece.before;
        return piece.after.map(part => typeof part === "number" ? valueText(data.paths[part]) : part).join("");
    }).join("");
}

function put(id, markup) {
    const place = document.getElementById(id);
    if (place.innerHTML !== markup) place.innerHTML = markup;
}
function draw() {
    waiting = false;
    const began = performance.now(), found = engine.answer(start, settings());
    document.body.classList.toggle("stale", found.faults.length > 0);
    if (found.faults.length) {
        const said = document.createElement("p");
        said.className = "verdict does-not";
        said.textContent = `This cannot be built: ${found.faults.join(" ")}`;
        put("verdict", said.outerHTML);
    } else {
        plan = found.plan;
        const width = Math.max(300, Math.min(640, Math.floor(stage.clientWidth)));
        for (const [id, markup] of engine.parts(found, width).items()) put(id, markup);
        const text = toml();
        document.getElementById("toml").value = text;
        document.getElementById("aquacalc-moved").textContent =
            JSON.stringify({numbers: numbers, toml: text === data.toml ? "" : text}).replace(/</g, "\\u003c");
    }
    window.aquacalc = {found: found, took: performance.now() - began};
}
function later() {
    if (!waiting) requestAnimationFrame(draw);
    waiting = true;
}
function show(k) {
    const input = rows[k].querySelector("input"), said = words(k);
    rows[k].querySelector("output").textContent = said;
    input.setAttribute("aria-valuetext", said);
}
function move(k, n) {
    numbers[k] = within(k, n);
    rows[k].querySelector("input").value = numbers[k];
    show(k);
    later();
}
rows.forEach((row, k) => {
    const input = row.querySelector("input"), s = data.sliders[k];
    input.value = numbers[k] === null ? s.own : numbers[k];
    input.addEventListener("input", () => move(k, Number(input.value)));
    row.querySelectorAll("button").forEach(button => button.addEventListener("click", () =>
        move(k, Number(input.value) + Number(button.dataset.by))));
    show(k);
});
document.getElementById("back").addEventListener("click", () => {
    numbers.fill(null);
    rows.forEach((row, k) => { row.querySelector("input").value = data.sliders[k].own; show(k); });
    later();
});
document.getElementById("save").addEventListener("click", () => {
    const link = document.createElement("a");
    link.download = data.file;
    link.href = URL.createObjectURL(new Blob([document.getElementById("toml").value], {type: "application/toml"}));
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
});
document.querySelectorAll("[name=picture]").forEach(choice => choice.addEventListener("change", () => {
    document.body.dataset.picture = choice.value;
}));
document.body.dataset.picture = document.querySelector("[name=picture]:checked").value;
window.addEventListener("resize", later);
document.body.classList.add("running");
draw();
})();
