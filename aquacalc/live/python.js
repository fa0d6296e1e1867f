// What Python's built-in functions do, for code that was translated from Python.
class $Dict {
    constructor(pairs) { this.kept = new Map(); for (const [k, v] of pairs) this.put(k, v); }
    static key(k) { return Array.isArray(k) ? "\u0000" + JSON.stringify(k) : k; }
    put(k, v) { this.kept.set($Dict.key(k), [k, v]); return this; }
    has(k) { return this.kept.has($Dict.key(k)); }
    get(k) { const pair = this.kept.get($Dict.key(k)); return pair ? pair[1] : undefined; }
    delete(k) { this.kept.delete($Dict.key(k)); }
    keys() { return Array.from(this.kept.values(), pair => pair[0]); }
    items() { return Array.from(this.kept.values(), pair => [pair[0], pair[1]]); }
    [Symbol.iterator]() { return this.keys()[Symbol.iterator](); }
    get size() { return this.kept.size; }
    valueOf() { throw new $Error("TypeError", ["no number"]); }
}
class $Set extends $Dict {
    constructor(values) { super([]); for (const v of values) this.put(v, v); }
}
const $dict = pairs => new $Dict(pairs instanceof $Dict ? pairs.items() : pairs || []);
const $set = values => new $Set($iter(values || []));
class $Error extends Error {
    constructor(kind, parts) { super(parts.join(", ")); this.kind = kind; this.args = parts; }
}
const $raise = kind => (...parts) => new $Error(kind, parts);
const KeyError = $raise("KeyError"), ValueError = $raise("ValueError"), TypeError_ = $raise("TypeError");
const ArithmeticError = $raise("ArithmeticError"), RecursionError = $raise("RecursionError");

const $r = new Float64Array(16);  // what a kernel returns that returns more than one number
const $taken = (values, count) => Array.from(values.subarray(0, count));

function $iter(x) {
    if (Array.isArray(x)) return x;
    if (x == null) throw new $Error("TypeError", ["nothing to go through"]);
    return Array.from(x);
}
function $t(x) {
    if (x == null || typeof x !== "object") return Boolean(x);
    if (Array.isArray(x)) return x.length > 0;
    return x instanceof $Dict ? x.size > 0 : true;
}
function $eq(a, b) {
    if (a === b) return true;
    if (a == null || b == null) return a == b;
    if (typeof a !== "object" || typeof b !== "object" || a.constructor !== b.constructor) return false;
    if (Array.isArray(a)) return a.length === b.length && a.every((x, i) => $eq(x, b[i]));
    if (a instanceof $Set) return a.size === b.size && a.keys().every(k => b.has(k));
    if (a instanceof $Dict) return a.size === b.size && a.items().every(([k, v]) => b.has(k) && $eq(v, b.get(k)));
    const fields = a.constructor.compared || a.constructor.fields;
    return Boolean(fields) && fields.every(f => $eq(a[f], b[f]));
}
function $compare(a, b) {
    if (!Array.isArray(a)) return a < b ? -1 : a > b ? 1 : 0;
    for (let i = 0; i < Math.min(a.length, b.length); i++) {
        const c = $compare(a[i], b[i]);
        if (c) return c;
    }
    return a.length - b.length;
}
function $in(x, all) {
    if (typeof all === "string") return all.includes(x);
    return all instanceof $Dict ? all.has(x) : $iter(all).some(y => $eq(x, y));
}
function $at(x, i) {
    if (i >= 0 && i < x.length && Array.isArray(x)) return x[i];
    if (x instanceof $Dict) {
        if (!x.has(i)) throw KeyError(i);
        return x.get(i);
    }
    if (typeof i === "string") return x[i];
    const all = typeof x === "string" || x.length !== undefined && !x.constructor.fields ? x : $iter(x);
    const found = all[i < 0 ? all.length + i : i];
    if (found === undefined) throw new $Error("IndexError", [i]);
    return found;
}
function $put(x, i, value) {
    if (x instanceof $Dict) x.put(i, value); else x[i < 0 ? x.length + i : i] = value;
}
function $slice(x, from, to, step) {
    const all = typeof x === "string" || x.slice ? x : $iter(x);
    if (!step || step === 1) {
        const cut = all.slice(from == null ? 0 : from, to == null ? undefined : to);
        return typeof cut === "string" ? cut : Array.from(cut);
    }
    const found = [], n = all.length, place = (k, other) => k == null ? other : k < 0 ? n + k : Math.min(k, n);
    if (step > 0) for (let i = place(from, 0); i < place(to, n); i += step) found.push(all[i]);
    else for (let i = from == null ? n - 1 : place(from); i > (to == null ? -1 : place(to)); i += step) found.push(all[i]);
    return found;
}
function $add(a, b) {
    return typeof a === "object" && a !== null ? [...$iter(a), ...$iter(b)] : a + b;
}
function $grow(a, b) {
    if (!Array.isArray(a)) return a + b;
    a.push(...$iter(b));
    return a;
}
function $times(list, n) { return Array.from({length: list.length * n}, (_, i) => list[i % list.length]); }
function $or(a, b) {
    if (typeof a === "number") return a | b;
    return a instanceof $Set ? new $Set([...a, ...b]) : new $Dict([...a.items(), ...b.items()]);
}
function $and(a, b) { return new $Set(a.keys().filter(k => $in(k, b))); }
function $without(a, b) { return new $Set(a.keys().filter(k => !$in(k, b))); }
function $mod(a, b) { return a - b * Math.floor(a / b); }
function $floordiv(a, b) { return Math.floor(a / b); }
function $divmod(a, b) { return [$floordiv(a, b), $mod(a, b)]; }
function $places(names, given, pairs) {
    const named = new Map(pairs);
    return names.map((name, i) => i < given.length ? given[i] : named.get(name));
}
function $named(x, method, given, named) {
    return x[method](...$places(x[method].names, given, Object.entries(named)));
}
function $replace(record, changes) {
    const pairs = changes instanceof $Dict ? changes.items() : Object.entries(changes || {});
    return new record.constructor(...$places(record.constructor.fields, [], [
        ...record.constructor.fields.map(f => [f, record[f]]), ...pairs]));
}
function $kept(f) {
    // Pure functions remember what they said of what counts as equal.
    const memory = new Map(), recent = [];  // most are asked for with the very same records again
    return function (...given) {
        const same = recent.find(one => one.given.every((x, i) => x === given[i]));
        if (same && same.given.length === given.length) return same.value;
        const key = JSON.stringify(given, function (_, x) {
            if (x instanceof $Dict) return x.items();
            const kind = x && x.constructor, fields = kind && (kind.compared || kind.fields);
            return fields ? [kind.name, ...fields.map(name => x[name])] : x;
        });
        if (!memory.has(key)) {
            if (memory.size > 2000) memory.clear();
            memory.set(key, f(...given));
        }
        recent.unshift({given: given, value: memory.get(key)});
        recent.length = Math.min(recent.length, 12);
        return memory.get(key);
    };
}
function $property(record, name, get, once) {
    Object.defineProperty(record.prototype, name, {configurable: true, get: once ? function () {
        const value = get.call(this);
        Object.defineProperty(this, name, {value: value});
        return value;
    } : get});
}
const $table = pairs => { const kept = new $Dict(pairs); return key => $at(kept, key); };

function $isinstance(x, kinds) {
    return [kinds].flat().some(kind => {
        if (kind === $str) return typeof x === "string";
        if (kind === $float || kind === $int) return typeof x === "number" && (kind === $float || Number.isInteger(x));
        if (kind === $bool) return typeof x === "boolean";
        if (kind === $list) return Array.isArray(x);
        if (kind === $dict) return x instanceof $Dict && !(x instanceof $Set);
        if (x instanceof $Error) return x.kind === kind().kind;
        return typeof x === "object" && kind.prototype !== undefined && x instanceof kind;
    });
}
const $len = x => x instanceof $Dict ? x.size : x.length !== undefined ? x.length : $iter(x).length;
const $list = x => x === undefined ? [] : $iter(x).slice();
const $bool = x => $t(x);
const $abs = Math.abs, $floor = x => Math.floor(x) + 0, $ceil = x => Math.ceil(x) + 0;  // no -0 of a whole number
const $type = x => x.constructor;
const $getattr = (x, name, other) => x != null && x[name] !== undefined ? x[name] : other;
const $hasattr = (x, name) => x != null && x[name] !== undefined;
const $any = all => $iter(all).some($t);
const $all = all => $iter(all).every($t);
const $sum = (all, start) => $iter(all).reduce((a, b) => $add(a, b), start === undefined ? 0 : start);
const $zip = (...all) => {
    const lists = all.map($iter);
    return lists.length ? Array.from({length: Math.min(...lists.map(l => l.length))}, (_, i) => lists.map(l => l[i])) : [];
};
const $enumerate = (all, start) => $iter(all).map((x, i) => [i + (start || 0), x]);
const $range = (a, b, step) => {
    const found = [], [from, to, by] = b === undefined ? [0, a, 1] : [a, b, step || 1];
    for (let i = from; by > 0 ? i < to : i > to; i += by) found.push(i);
    return found;
};
const $reversed = all => $iter(all).slice().reverse();
const $map = (f, ...all) => all.length === 1 ? $iter(all[0]).map(x => f(x)) : $zip(...all).map(parts => f(...parts));
const $filter = (f, all) => $iter(all).filter(x => $t(f === null ? x : f(x)));
const $next = (all, other) => {
    const list = $iter(all);
    if (!list.length && other === undefined) throw new $Error("StopIteration", []);
    return list.length ? list[0] : other;
};
function $extreme(all, key, other, sign) {
    const list = $iter(all);
    if (!list.length) {
        if (other === undefined) throw ValueError("nothing to choose from");
        return other;
    }
    let best = list[0], worth = key ? key(best) : best;
    for (let i = 1; i < list.length; i++) {
        const one = key ? key(list[i]) : list[i];
        if ($compare(one, worth) * sign > 0) { best = list[i]; worth = one; }
    }
    return best;
}
const $min = (all, key, other) => $extreme(all, key, other, -1);
const $max = (all, key, other) => $extreme(all, key, other, 1);
const $least = (a, b) => typeof a === "number" ? b < a ? b : a : $min([a, b]);
const $most = (a, b) => typeof a === "number" ? b > a ? b : a : $max([a, b]);
function $sorted(all, key, reverse) {
    const sign = reverse ? -1 : 1;
    return $iter(all).slice().sort((a, b) => sign * (key ? $compare(key(a), key(b)) : $compare(a, b)));
}
const $pairwise = all => { const l = $iter(all); return l.slice(1).map((x, i) => [l[i], x]); };
const $combinations = all => { const l = $iter(all); return l.flatMap((a, i) => l.slice(i + 1).map(b => [a, b])); };
const $permutations = all => { const l = $iter(all); return l.flatMap((a, i) => l.filter((b, k) => k !== i).map(b => [a, b])); };
const $chain = (...all) => all.flatMap($iter);
const $dist = (a, b) => Math.hypot(...$iter(a).map((x, i) => x - b[i]));
const $radians = x => x * (Math.PI / 180);
const $degrees = x => x * (180 / Math.PI);
const $bisect_right = (all, x) => {
    let low = 0, high = all.length;
    while (low < high) { const m = (low + high) >> 1; if (x < all[m]) high = m; else low = m + 1; }
    return low;
};

// Numbers as text. `digits` digits of |x|, rounded half to even as Python does: [digits, power of ten].
function $figures(x, digits) {
    const near = Math.abs(x).toExponential(digits + 2), at = near.indexOf("e");
    if (!near.slice(0, at).endsWith("500")) {  // no tie to round to even
        const [m, power] = Math.abs(x).toExponential(digits - 1).split("e");
        return [m.replace(".", ""), Number(power)];
    }
    const long = Math.abs(x).toExponential(Math.min(digits + 29, 100)), [m, power] = long.split("e");
    const all = m.replace(".", ""), tail = all.slice(digits);
    let kept = all.slice(0, digits);
    const half = /^50*$/.test(tail);
    if (half ? Number(kept[digits - 1]) % 2 : tail[0] >= "5") kept = String(BigInt(kept) + 1n).padStart(digits, "0");
    return kept.length > digits ? [kept.slice(0, digits), Number(power) + 1] : [kept, Number(power)];
}
function $fixed(x, decimals) {
    const size = Math.abs(x), twice = 2 * size * 10 ** decimals;
    if (twice !== Math.round(twice) && !Object.is(x, -0)) return x.toFixed(decimals);  // no tie to round to even
    const long = size.toFixed(Math.min(decimals + 30, 100)), point = long.indexOf(".");
    const kept = long.slice(0, point) + long.slice(point + 1, point + 1 + decimals), tail = long.slice(point + 1 + decimals);
    const half = /^50*$/.test(tail);
    let n = BigInt(kept);
    if (half ? n % 2n === 1n : tail[0] >= "5") n += 1n;
    const text = String(n).padStart(decimals + 1, "0");
    const sign = x < 0 || Object.is(x, -0) ? "-" : "";
    return sign + (decimals ? text.slice(0, -decimals) + "." + text.slice(-decimals) : text);
}
const $specs = new Map();
function $format(x, spec) {
    if (!$specs.has(spec)) $specs.set(spec, /^(,?)(?:\.(\d+))?([a-z%]?)$/.exec(spec));
    const parts = $specs.get(spec);
    if (!parts || parts[1]) throw ValueError("format " + spec);
    const kind = parts[3];
    if (typeof x === "string" || kind === "s" || kind === "d") return String(x);
    if (!Number.isFinite(x)) return Number.isNaN(x) ? "nan" : x > 0 ? "inf" : "-inf";
    if (kind === "f") return $fixed(x, parts[2] === undefined ? 6 : Number(parts[2]));
    const sign = x < 0 ? "-" : "", exponent = e => (e < 0 ? "e-" : "e+") + String(Math.abs(e)).padStart(2, "0");
    if (kind === "e") {
        const [m, e] = $figures(x, Number(parts[2] || 6) + 1);
        return sign + m[0] + (m.length > 1 ? "." + m.slice(1) : "") + exponent(e);
    }
    const digits = Math.max(Number(parts[2] === undefined ? 6 : parts[2]), 1);
    if (x === 0) return "0";
    let [m, e] = $figures(x, digits);
    const bare = m.replace(/0+$/, "");
    if (e < -4 || e >= digits) return sign + bare[0] + (bare.length > 1 ? "." + bare.slice(1) : "") + exponent(e);
    if (e < 0) return sign + "0." + "0".repeat(-e - 1) + bare;
    const padded = bare.padEnd(e + 1, "0");
    return sign + padded.slice(0, e + 1) + (padded.length > e + 1 ? "." + padded.slice(e + 1) : "");
}
const $str = x => x === null || x === undefined ? "None" : x === true ? "True" : x === false ? "False"
    : x.__str__ ? x.__str__() : String(x);
const $repr = x => typeof x === "string" ? "'" + x + "'" : $str(x);
const $float = x => {
    if (x === "inf") return Infinity;
    const value = Number(x);
    if (Number.isNaN(value)) throw ValueError("no number: " + x);
    return value;
};
const $int = x => Math.trunc(Number(x)) + 0;
const $round = (x, digits) => digits ? Number($fixed(x, digits)) : Number($fixed(x, 0)) + 0;
const $log10 = x => {
    const found = Math.log10(x), near = Math.round(found);
    return Math.abs(found - near) < 1e-12 && Number("1e" + near) === x ? near : found;
};

function $strip(text, chars, left, right) {
    const off = c => chars === undefined ? /\s/.test(c) : chars.includes(c);
    let from = 0, to = text.length;
    while (left && from < to && off(text[from])) from++;
    while (right && to > from && off(text[to - 1])) to--;
    return text.slice(from, to);
}
const $m = {};
{
    const own = name => (x, ...given) => x[name](...given);
    const of = (name, kind, f) => {
        const other = $m[name] || own(name);
        $m[name] = (x, ...given) => kind(x) ? f(x, ...given) : other(x, ...given);
    };
    const text = x => typeof x === "string", list = Array.isArray;
    const dict = x => x instanceof $Dict && !(x instanceof $Set), set = x => x instanceof $Set;
    of("append", list, (x, v) => { x.push(v); return null; });
    of("extend", list, (x, v) => { x.push(...$iter(v)); return null; });
    of("insert", list, (x, i, v) => { x.splice(i, 0, v); return null; });
    of("reverse", list, x => { x.reverse(); return null; });
    of("sort", list, x => { x.sort($compare); return null; });
    of("index", list, (x, v) => {
        const i = x.findIndex(y => $eq(y, v));
        if (i < 0) throw ValueError(v + " is not in the list");
        return i;
    });
    of("count", list, (x, v) => x.filter(y => $eq(y, v)).length);
    of("pop", list, (x, i) => x.splice(i === undefined ? x.length - 1 : i, 1)[0]);
    of("add", set, (x, v) => { x.put(v, v); return null; });
    of("update", set, (x, more) => { for (const v of $iter(more)) x.put(v, v); return null; });
    of("update", dict, (x, more) => { for (const [k, v] of $dict(more).items()) x.put(k, v); return null; });
    of("get", dict, (x, k, other) => x.has(k) ? x.get(k) : other === undefined ? null : other);
    of("pop", dict, (x, k, other) => { const v = x.has(k) ? x.get(k) : other; x.delete(k); return v; });
    of("setdefault", dict, (x, k, other) => { if (!x.has(k)) x.put(k, other); return x.get(k); });
    of("items", dict, x => x.items());
    of("keys", dict, x => x.keys());
    of("values", dict, x => x.items().map(pair => pair[1]));
    of("copy", dict, x => new $Dict(x.items()));
    of("join", text, (x, all) => $iter(all).join(x));
    of("split", text, (x, by) => by === undefined ? x.trim().split(/\s+/).filter(Boolean) : x.split(by));
    of("strip", text, (x, chars) => $strip(x, chars, true, true));
    of("lstrip", text, (x, chars) => $strip(x, chars, true, false));
    of("rstrip", text, (x, chars) => $strip(x, chars, false, true));
    of("isprintable", text, x => !/[\p{C}\p{Zl}\p{Zp}]|(?! )\p{Zs}/u.test(x));
    of("lower", text, x => x.toLowerCase());
    of("casefold", text, x => x.toLowerCase());
    of("upper", text, x => x.toUpperCase());
    of("count", text, (x, part) => x.split(part).length - 1);
    of("replace", text, (x, a, b) => x.split(a).join(b));
    of("startswith", text, (x, starts) => [starts].flat().some(s => x.startsWith(s)));
    of("endswith", text, (x, ends) => [ends].flat().some(s => x.endsWith(s)));
    of("removeprefix", text, (x, part) => x.startsWith(part) ? x.slice(part.length) : x);
    of("removesuffix", text, (x, part) => part && x.endsWith(part) ? x.slice(0, -part.length) : x);
    of("partition", text, (x, by) => {
        const i = x.indexOf(by);
        return i < 0 ? [x, "", ""] : [x.slice(0, i), by, x.slice(i + by.length)];
    });
    of("rpartition", text, (x, by) => {
        const i = x.lastIndexOf(by);
        return i < 0 ? ["", "", x] : [x.slice(0, i), by, x.slice(i + by.length)];
    });
}
const $escape = x => x.replace(/[&<>"']/g, c => ({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#x27;"})[c]);
const $fromkeys = (keys, value) => new $Dict($iter(keys).map(k => [k, value === undefined ? null : value]));

// Records out of JSON: {"$": name of the class, ...}; lists and plain values as they are.
function $revived(value, records) {
    if (Array.isArray(value)) return value.map(v => $revived(v, records));
    if (value === null || typeof value !== "object") return value;
    const kind = records[value.$];
    if (!kind) return new $Dict(Object.entries(value).map(([k, v]) => [k, $revived(v, records)]));
    return new kind(...kind.fields.map(f => $revived(value[f], records)));
}
