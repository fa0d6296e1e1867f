// Sliders, pictures and words of live pages. All that is worked out, drawn or said comes from `engine`.
(function () {
"use strict";
let touched = false;  // whether the reader has moved a slider
const GOLDEN = 0.618;  // the fractions of its multiples lie evenly from 0 to 1
const plain = dict => Object.fromEntries(dict.items());
const drag = (row, to) => {
    const input = row.querySelector("input");
    input.addEventListener("input", () => to(Number(input.value)));
    row.querySelectorAll("button").forEach(button => button.addEventListener("click", () =>
        to(Number(input.value) + Number(button.dataset.by))));
};

// `carried`: what was moved where the page had other units, by slider.
function bind(root, carried) {
    const one = choice => root.querySelector(choice), all = choice => [...root.querySelectorAll(choice)];
    const data = JSON.parse(one(".plan-data").textContent), moved = one(".plan-moved");
    const kept = JSON.parse(moved.textContent);
    const start = engine.read(data.plan), sizes = data.sliders.map(s => engine.read(s.sizes));
    const within = (k, n) => Math.min(Math.max(Math.round(n), data.sliders[k].low), data.sliders[k].high);
    const numbers = data.sliders.map((s, k) => {
        const was = carried && carried[s.key + s.place];
        if (carried) return was === undefined ? null : within(k, s.sizes.length ? was : was * s.over / s.per);
        return kept.numbers && Number.isFinite(kept.numbers[k]) ? within(k, kept.numbers[k]) : null;
    });
    const original = data.original || data.pieces.map(piece => piece.before).join("");
    const rows = all(".slider"), text = one("textarea");
    const last = {};  // the markup of each part
    let plan = start, found = null, waiting = false, section = null, film = null, wide = 0;

    function setting(k, n) {
        const s = data.sliders[k];
        return [s.key, s.place, sizes[k].length ? sizes[k][n] : n * s.per / s.over];
    }
    function settings() {
        return numbers.flatMap((n, k) => n === null ? [] : [setting(k, n)]);
    }
    function written(k) {  // as the plan's file has it
        const s = data.sliders[k];
        return `${(numbers[k] * s.step).toFixed(s.decimals)}${s.unit ? " " + s.unit : ""}`;
    }
    function words(k) {
        if (numbers[k] === null) return data.sliders[k].words;
        return sizes[k].length ? sizes[k][numbers[k]].size : written(k).replace("-", "−");
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
        if (numbers.every(n => n === null)) return original;
        return data.pieces.map(piece => {
            const paths = (piece.after || []).filter(part => typeof part === "number").map(k => data.paths[k]);
            if (paths.every(path => engine.valueAt(plan, path.fields) === path.start)) return piece.before;
            return piece.after.map(part => typeof part === "number" ? valueText(data.paths[part]) : part).join("");
        }).join("");
    }

    // The section moves by `moving.js`, which the run and the siphon's sizes of now are given to.
    function follow(run) {
        const figure = one("figure.water");
        if (!figure) return;
        const trace = {
            times: run.trace.times, levels: plain(run.trace.levels), rates: plain(run.trace.rates),
            outflow: plain(run.trace.outflow), regime: plain(run.trace.regime), pump: run.trace.pump,
        };
        const first = run.groups[0], [begin, end] = run.one_cycle(first.name);
        const cycle = {begin: begin, end: end, start: end - first.drain_time};
        if (first.period === 0) cycle.after = "from the start";
        const siphons = Object.fromEntries(plan.siphons.map(s => [s.name, plain(engine.facts(plan, s))]));
        if (!section) {
            figure.querySelectorAll(".film").forEach(film => film.remove());  // of a page saved from a browser
            section = movingSection(figure, JSON.parse(figure.querySelector(".scene").textContent));
            section.show({siphons: siphons});
            film = movingStage(figure, section, trace, cycle);
        } else {
            section.show({siphons: siphons});
            film.follow(trace, cycle);
        }
    }
    function put(part, markup) {
        if (last[part] !== markup) one(`[data-part=${part}]`).innerHTML = last[part] = markup;
    }
    function show(parts) {
        for (const [part, markup] of parts.items()) put(part, markup);
    }
    function width() {
        const seen = Math.max(...all(".picture").map(picture => picture.clientWidth));
        wide = Math.max(300, Math.min(640, Math.floor(seen)));
    }
    // A move draws the run at once, then says its verdict, then all that is found.
    function draw() {
        waiting = false;
        const began = performance.now();
        root.classList.remove("stale");
        tried(() => {
            found = engine.run_moved(start, settings());
            if (found.faults.length) return refuse(`This cannot be built: ${found.faults.join(" ")}`);
            plan = found.plan;
            show(engine.drawn(found, wide));
            follow(found.run);
        });
        const work = performance.now() - began;
        root.live = {began: began, drawn: work, work: work};
        tell();
    }
    function refuse(why) {
        const said = document.createElement("p");
        said.className = "verdict does-not";
        said.textContent = why;
        put("verdict", said.outerHTML);
        root.classList.add("stale");
    }
    // What goes wrong is said in the verdict's place: the one before would be taken for that of this plan.
    function tried(step) {
        try {
            step();
        } catch (error) {
            found = {faults: [error.message]};
            refuse(`The page could not work this out: ${error.message}. Go back to the plan as it was.`);
            if (error.kind !== "ArithmeticError") reportError(error);
        }
    }
    // Each in a task of its own, so that the browser shows what is there before the next begins.
    const waits = new Set();
    function soon(step, then) {
        if (waits.has(step)) return;
        waits.add(step);
        setTimeout(() => {
            waits.delete(step);
            const began = performance.now(), live = root.live;
            tried(() => found.faults.length || step());
            live.work += performance.now() - began;
            then(live);
        }, 0);
    }
    function tell() {
        soon(judge, live => {
            live.after = performance.now() - live.began;
            soon(explain, live => { live.found = found; });
        });
    }
    // "Does not" is the last word; anything better waits for what is built, and for a siphon that may start.
    function judge() {
        if (found.verdict) return;
        found = engine.judged(found);
        if (found.verdict !== "does not") found = engine.completed(found);
        put("verdict", engine.verdict(found));
    }
    function explain() {
        judge();
        if (found.verdict === "does not") found = engine.completed(found);
        put("verdict", engine.verdict(found));
        show(engine.told(found, wide));
        text.value = toml();
        moved.textContent = JSON.stringify(
            {numbers: numbers, toml: text.value === original ? "" : text.value}).replace(/</g, "\\u003c");
    }
    function later() {
        if (!waiting) requestAnimationFrame(draw);
        waiting = true;
    }
    function label(k) {
        const input = rows[k].querySelector("input"), said = words(k);
        input.value = numbers[k] === null ? data.sliders[k].own : numbers[k];
        rows[k].querySelector("output").textContent = said;
        input.setAttribute("aria-valuetext", said);
    }
    function move(k, n) {
        numbers[k] = within(k, n);
        touched = true;
        label(k);
        later();
    }
    rows.forEach((row, k) => {
        drag(row, n => move(k, n));
        label(k);
    });
    one(".undo").addEventListener("click", () => {
        numbers.fill(null);
        rows.forEach((row, k) => label(k));
        later();
    });
    one(".save").addEventListener("click", () => {
        const link = document.createElement("a");
        link.download = data.file;
        link.href = URL.createObjectURL(new Blob([text.value], {type: "application/toml"}));
        link.click();
        setTimeout(() => URL.revokeObjectURL(link.href), 10000);
    });
    all(".choice input").forEach(choice => {
        choice.addEventListener("change", () => { root.dataset.picture = choice.value; });
        if (choice.checked) root.dataset.picture = choice.value;
    });
    width();
    draw();
    return {
        resize: () => { width(); later(); },
        stop: () => film && film.pause(),
        values: () => Object.fromEntries(data.sliders.flatMap((s, k) => numbers[k] === null ? []
            : [[s.key + s.place, s.sizes.length ? numbers[k] : numbers[k] * s.per / s.over]])),
        // What a move does, one slider after another, and nothing shown.
        rehearse: turn => {
            const k = turn % rows.length, {low, high} = data.sliders[k];
            try {
                const found = engine.run_moved(start, [setting(k, within(k, low + turn * GOLDEN % 1 * (high - low)))]);
                if (found.faults.length) return;
                engine.drawn(found, wide);
                engine.told(engine.completed(engine.judged(found)), wide);
            } catch (error) {
                // which is said when it is drawn
            }
        },
    };
}

// An equation with sliders: its numbers and its result follow.
function bindEquation(root, carried) {
    const data = JSON.parse(root.querySelector(".equation-data").textContent);
    const values = Object.assign({}, data.values, carried);
    function say() {
        const shown = engine.calculation(data.key, data.find, engine.read(values), data.system);
        for (const [name, text] of shown.items())
            root.querySelectorAll(`[data-value="${name}"]`).forEach(place => { place.textContent = text; });
    }
    root.querySelectorAll(".slider").forEach((row, k) => {
        const s = data.sliders[k], input = row.querySelector("input");
        function move(n) {
            const m = Math.min(Math.max(n, s.low), s.high);
            values[s.key] = m * s.per / s.over;
            label();
            say();
        }
        function label() {
            const said = engine.show(values[s.key], s.kind, data.system);
            input.value = Math.round(values[s.key] * s.over / s.per);
            row.querySelector("output").textContent = said;
            input.setAttribute("aria-valuetext", said);
        }
        drag(row, move);
        label();
    });
    if (carried) say();
    return {values: () => values, resize: () => {}, stop: () => {}};
}

// A guess counts once; all of them are met again at the end.
function bindGuesses() {
    const roots = [...document.querySelectorAll(".guess")], end = document.querySelector(".guesses");
    function meet() {
        if (!end) return;
        end.replaceChildren(...roots.map(root => {
            const line = document.createElement("li"), mine = root.dataset.given;
            const {question, right, why} = root.dataset;
            line.textContent = mine === undefined ? `${question} You gave no guess yet.`
                : mine === right ? `${question} You guessed: ${mine}. So it is, because ${why}`
                : `${question} You guessed: ${mine}. It is: ${right}, because ${why}`;
            return line;
        }));
    }
    roots.forEach(root => {
        const button = root.querySelector("button"), said = root.querySelector("[role=status]");
        function keep() {
            root.querySelectorAll("input").forEach(input => { input.disabled = true; });
            button.disabled = true;
            said.textContent = "Kept. You meet it again at the end of the page.";
            meet();
        }
        button.addEventListener("click", () => {
            const chosen = root.querySelector("input:checked");
            if (!chosen) { said.textContent = "Choose one first."; return; }
            root.dataset.given = chosen.value;
            keep();
        });
        if (root.dataset.given !== undefined) keep();
    });
    meet();
}
let parts = [];
function bindAll(carried) {
    parts = [...document.querySelectorAll(".live-plan")].map((root, k) =>
        (root.matches(".live-equation") ? bindEquation : bind)(root, carried && carried[k]));
    bindGuesses();
}
// The other units: the same part, made by the same program, is in the page, packed.
const shown = document.querySelector(".switched"), other = document.querySelector(".other-units");
async function change() {
    const values = parts.map(part => part.values());
    const guesses = [...document.querySelectorAll(".guess")].map(root => root.dataset.given);
    const text = other.textContent, at = scrollY;
    const markup = text[0] === '"' ? JSON.parse(text) : await unpacked(text);
    parts.forEach(part => part.stop());
    other.textContent = JSON.stringify(shown.innerHTML).replace(/</g, "\\u003c");
    shown.innerHTML = markup;
    document.querySelectorAll(".guess").forEach((root, k) => {
        if (guesses[k] !== undefined) root.dataset.given = guesses[k];
    });
    document.querySelectorAll(".units input").forEach(box => box.toggleAttribute("checked", box.checked));
    bindAll(values);
    scrollTo(0, at);
}
document.querySelectorAll(".units input").forEach(box => box.addEventListener("change", change));
window.addEventListener("resize", () => parts.forEach(part => part.resize()));
document.body.classList.add("running");
bindAll(null);
// A browser makes fast code of what has run a few times: before the first move, in its spare moments.
function warm(turn, spare) {
    const plan = parts.find(part => part.rehearse), began = performance.now();
    if (plan && turn < 40 && spare > 0 && !touched) {
        plan.rehearse(turn);
        const took = performance.now() - began;  // one that takes long would keep the reader waiting
        setTimeout(warm, 30, turn + 1, took < 400 ? spare - took : 0);
    } else document.body.classList.add("warm");
}
setTimeout(warm, 300, 0, 5000);
})();
