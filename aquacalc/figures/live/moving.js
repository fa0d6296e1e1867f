// Moves the parts of a section that `moving_section` drew. SI units; names as in `figures/section.py`.
"use strict";

/* Where the parts of a siphon are, as `closeup.places`: elevations, and distances from its middle, m. */
function siphonPlaces(fact, stage, level, outflow) {
  const floor = fact.floor, bore = fact.bore / 2, lip = floor + fact.height, crown = floor + fact.top_height;
  const rim = floor + fact.rim_height, wide = Math.max(fact.lip_diameter / 2, bore);
  const inside = stage === "siphoning" ? crown : Math.min(Math.max(level, floor), crown);
  const filled = {spilling: 0.35 * Math.min(outflow / fact.start_flow, 1), priming: 0.6, siphoning: 1}[stage] || 0;
  return {
    lip, crown, rim, wide, bore, inside, filled,
    cone: lip - (wide > 1.001 * bore ? fact.cone_length || 0.012 : 0),
    wall: fact.outside_diameter / 2 - bore,
    foot: Math.max(rim - fact.opening_height, floor),
    bell: fact.bell_bore / 2, shell: fact.bell_outside_diameter / 2,
    start: fact.start_level, outlet: fact.outlet,
    air: (Math.max(inside, lip) + crown) / 2, core: bore * Math.sqrt(1 - filled),
  };
}

/* A number with its unit, as `units.show` writes it. */
function showValue(units, x, kind) {
  const [unit, per, decimals, digits] = units[kind], number = x * per;
  let places = decimals;
  if (places === null) {
    const power = number === 0 ? digits : Math.floor(Math.log10(Math.abs(number)));
    places = Math.min(Math.max(0, digits - 1 - power), 12);
    if (number !== 0 && Math.abs(+number.toFixed(places)) >= 10 ** (power + 1)) places = Math.max(0, places - 1);
  }
  return `${number.toFixed(places).replace(/^-(0(\.0*)?)$/, "$1").replace("-", "−")} ${unit}`;
}

/* The moment at t (s) of a trace, as `snapshot.moment`. */
function momentOf(scene, trace, t) {
  const times = trace.times, last = times.length - 1;
  let low = 0, high = last;
  while (low < high) {  // the last step that is not later
    const middle = (low + high + 1) >> 1;
    if (times[middle] <= t) low = middle; else high = middle - 1;
  }
  const k = low, n = Math.min(k + 1, last), h = times[n] - times[k];
  const s = h > 0 ? Math.min(Math.max((t - times[k]) / h, 0), 1) : 0;
  const levels = {}, rates = {}, pick = rows => Object.fromEntries(Object.keys(rows).map(x => [x, rows[x][k]]));
  for (const name of Object.keys(trace.levels)) {
    const z = trace.levels[name], rate = trace.rates[name], rise = z[n] - z[k];
    const m0 = rate[k] * h, m1 = rate[n] * h;
    rates[name] = rate[k] + s * (rate[n] - rate[k]);
    levels[name] = rate[k] === 0 && rate[n] === 0 ? z[k] + s * rise
      : z[k] + s * (m0 + s * (3 * rise - 2 * m0 - m1 + s * (m0 + m1 - 2 * rise)));
  }
  const runs = {}, pump = trace.pump[k];
  for (const [name, share, before] of scene.inlets) {
    let flow = share * pump;
    for (const run of before) flow += runs[run];
    if (scene.areas[name]) flow -= between(scene.areas[name], levels[name]) * rates[name];
    runs[name] = Math.abs(flow) > 1e-7 ? flow : 0;
  }
  return {t, levels, regime: pick(trace.regime), outflow: pick(trace.outflow), pump, runs};
}

function between(points, z) {
  let below = points[0];
  for (const above of points) {
    if (above[0] >= z) {
      const rise = above[0] - below[0];
      return rise <= 0 ? above[1] : below[1] + (above[1] - below[1]) * (z - below[0]) / rise;
    }
    below = above;
  }
  return below[1];
}

/* A drawn section: `show(state)` brings it to a moment; what a state leaves out stays as it was. */
function movingSection(element, scene) {
  const parts = {};
  element.querySelectorAll("[data-m]").forEach(part => { parts[part.dataset.m] = part; });
  const pictures = element.querySelectorAll("svg[role=img]"), now = {...scene.state}, before = {};
  const facts = {};
  for (const name of Object.keys(scene.siphons)) facts[name] = {...scene.siphons[name]};
  const say = (x, kind) => showValue(scene.units, x, kind);
  const arrow = q => q === 0 ? 0 : Math.sign(q) * (0.5 + 0.7 * Math.sqrt(Math.min(Math.abs(q) / scene.most, 1)));
  const stream = q => q > 0 ? 6 * Math.sqrt(Math.min(q / scene.most, 1)) : 0;

  function follow() {
    const values = {}, words = {when: now.when || ""};
    for (const [name, z] of Object.entries(now.levels)) {
      values["level " + name] = z;
      words["level " + name] = say(z, "elevation");
    }
    for (const [name, fact] of Object.entries(facts)) {
      const stage = now.regime[name], flow = now.outflow[name];
      const at = siphonPlaces(fact, stage, now.levels[fact.host], flow), tail = "tail " + fact.host;
      for (const key of Object.keys(at)) values[`${name} ${key}`] = at[key];
      values[tail + " filled"] = at.filled;
      values[tail + " arrow"] = arrow(flow);
      values[tail + " stream"] = stream(flow);
      Object.assign(words, {
        ["stage " + name]: stage, [name + " start"]: say(at.start, "elevation"),
        [name + " lip"]: "at " + say(at.lip, "elevation"), [name + " wide"]: "lip " + say(fact.lip_diameter, "length"),
        [name + " bore"]: "bore " + say(fact.bore, "length"), [name + " rim"]: "at " + say(at.rim, "elevation"),
        [name + " outlet"]: "at " + say(at.outlet, "elevation"),
        [name + " height"]: "standpipe " + say(fact.height, "length"),
      });
    }
    for (const [key, line] of Object.entries(scene.lines)) {
      if (line.run) {
        values[key + " filled"] = now.levels[line.run] > line.low + 1e-3 ? 1 : 0;
        values[key + " arrow"] = arrow((now.runs || {})[line.run] || 0);
      } else if (line.pump) {
        values[key + " filled"] = now.pump > 0 ? 1 : 0;
        values[key + " arrow"] = arrow(now.pump);
      }
    }
    values["pump stream"] = stream(now.pump);
    const flow = now.outflow[scene.siphon], does = scene.stages[now.regime[scene.siphon]];
    const stage = Object.keys(facts).length > 1 ? `${scene.siphon}: ${does[0].toLowerCase()}${does.slice(1)}` : does;
    words.stage = flow > 0 ? `${stage}, ${say(flow, "flow")}` : stage;
    words.pump = now.pump > 0 ? "pump " + say(now.pump, "flow") : "pump";
    return [values, words];
  }

  function show(state) {
    for (const [name, given] of Object.entries(state || {})) {
      if (name === "siphons") for (const each of Object.keys(given)) Object.assign(facts[each], given[each]);
      else if (given && typeof given === "object") now[name] = {...now[name], ...given};
      else now[name] = given;
    }
    const [values, words] = follow();
    for (const [part, attribute, ...items] of scene.moves) {
      let text = "";
      for (const item of items) {
        if (typeof item === "string") text += item;
        else if (item.w !== undefined) text += words[item.w];
        else {
          let sum = item[0];
          for (let k = 1; k < item.length; k += 2) sum += values[item[k]] * item[k + 1];
          text += Math.round(sum * 100) / 100;
        }
      }
      const key = part + attribute;
      if (before[key] === text) continue;
      before[key] = text;
      if (attribute === "text") parts[part].textContent = text; else parts[part].setAttribute(attribute, text);
    }
    pictures[0].setAttribute("aria-label", said(words));
    return words;
  }

  function said(words) {
    const levels = scene.vessels.map(name => `${name} ${words["level " + name]}`).join(", ");
    return `Section. ${words.stage}; ${words.when}. Water levels: ${levels}.`;
  }

  return {show, scene, element};
}

/* Play, pause, step, speed and scrub under a section. It stands still until the reader starts it.
   `cycle`: {begin, end, start} of the trace (s), `start` where to begin; `onMoment(t)` is told each moment. */
function movingStage(element, section, trace, cycle, onMoment) {
  const STEPS = 200, SPEEDS = [["slow", 40], ["medium", 20], ["fast", 10]];  // seconds for a whole cycle
  const bar = document.createElement("div");
  bar.className = "film";
  bar.setAttribute("role", "group");
  bar.setAttribute("aria-label", "Move the water");
  bar.innerHTML = `<button type="button" class="play">Play</button>
<button type="button" class="back" aria-label="One step back">◀</button>
<button type="button" class="on" aria-label="One step on">▶</button>
<label>Moment <input type="range" min="0" max="${STEPS}" step="1"></label>
<label>Speed <select>${SPEEDS.map(([name], k) => `<option value="${k}"${k === 1 ? " selected" : ""}>${name}`).join("")}</select></label>
<p class="unseen" aria-live="polite"></p>`;
  element.append(bar);
  const find = name => bar.querySelector(name), play = find(".play"), range = find("input"), live = find("p");
  let span = cycle, at = 0, running = false, clock = 0, told = "";
  const part = t => (t - span.begin) / Math.max(span.end - span.begin, 1e-9);

  function show() {
    const t = span.begin + at * (span.end - span.begin);
    const state = momentOf(section.scene, trace, t);
    const seconds = Math.round(t - span.begin);
    state.when = `${seconds < 120 ? seconds + " s" : Math.floor(seconds / 60) + " min " + seconds % 60 + " s"} ${span.after || "into the cycle"}`;
    const words = section.show(state), stage = section.scene.stages[state.regime[section.scene.siphon]];
    range.value = Math.round(at * STEPS);
    range.setAttribute("aria-valuetext", `${state.when}: ${words.stage}`);
    if (stage !== told) { live.textContent = stage; told = stage; }
    if (onMoment) onMoment(t);
  }
  function tick(time) {
    if (!running) return;
    const seconds = SPEEDS[+find("select").value][1];
    if (clock) at = (at + Math.min(time - clock, 250) / 1000 / seconds) % 1;
    clock = time;
    show();
    requestAnimationFrame(tick);
  }
  function run(on) {
    running = on;
    clock = 0;
    play.textContent = on ? "Pause" : "Play";
    element.classList.toggle("playing", on);
    if (on) requestAnimationFrame(tick);
  }
  function step(by) {
    run(false);
    at = (Math.round(at * STEPS) + by + STEPS + 1) % (STEPS + 1) / STEPS;
    show();
  }
  play.addEventListener("click", () => run(!running));
  find(".back").addEventListener("click", () => step(-1));
  find(".on").addEventListener("click", () => step(1));
  range.addEventListener("input", () => { run(false); at = range.value / STEPS; show(); });
  at = part(cycle.start === undefined ? cycle.begin : cycle.start);
  show();
  return {
    /* Another run of the plan: the moment keeps its place in the cycle. */
    follow(nextTrace, nextCycle) { trace = nextTrace; span = nextCycle; show(); },
    pause() { run(false); },
    show,
  };
}
