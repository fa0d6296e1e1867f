// Written by `python -m tests.regenerate engine-js` from the Python functions of the same names.
var engine = (function () {
"use strict";
var math = {sqrt: Math.sqrt, log: Math.log, log10: Math.log10, exp: Math.exp, pi: Math.PI};
var _pyfunc_abs = Math.abs;
var _pyfunc_int = function (x, base) { // nargs: 1 2
    if(base !== undefined) return parseInt(x, base);
    return x<0 ? Math.ceil(x): Math.floor(x);
};
var TABLE_POINTS = 113;
var TABLE_LOG_FIRST = -13.815510557964274;
var TABLE_LOG_STEP = 0.14391156831212787;
var LAMINAR_END = 2000.0;
var TURBULENT_START = 4000.0;
var _LOG10_SCALE = 0.8685889638065035;
var SLOPE_STEP = 1.000001;
var SLOPE_LOG = 9.999994999180668e-07;
var PUMP_POINTS = 65;
var STEPS_MAX = 60000;
var PUMP_GUARD_BAND = 0.002;
var MOUTH_POINTS = 25;
var MOUTH_FULL = 6.0;
var MOUTH_LOG_FIRST = -6.0;
var MOUTH_LOG_STEP = 0.25;
var MOUTH_WEIR = 1.71;
var TABLE_FIRST = 1e-06;
var BALANCED = 1e-14;
var LEAST_PIVOT = 1e-05;
var NEARLY = 1e-10;
var SWEEPS = 10;
var BEYOND = 0.01;
var SIPHONING = 3;
var STEP_MIN = 1e-09;
var FILLING = 0;
var SPILLING = 1;
var PURGING = 2;
var LOCATED = 1e-10;
var CYCLES = 1;
var SETTLED = 1e-07;
var IDLE = 4;
var SPILLS = 2;
var RUNS_ON = 3;
var UNSETTLED = 5;
var friction_laminar;
friction_laminar = function flx_friction_laminar (Re) {
    return 64.0 / Re;
};

var _colebrook_root;
_colebrook_root = function flx__colebrook_root (Re, e) {
    var _, inside, step, x;
    x = (-1.8) * (math.log10((Math.pow((e / 3.7), 1.11)) + (6.9 / Re)));
    for (_ = 0; _ < 30; _ += 1) {
        inside = (e / 3.7) + ((2.51 * x) / Re);
        step = (x + (_LOG10_SCALE * math.log(inside))) / (1.0 + ((_LOG10_SCALE * 2.51) / (Re * inside)));
        x -= step;
        if ((_pyfunc_abs(step) < ((1e-14) * x))) {
            break;
        }
    }
    return x;
};

var friction_colebrook;
friction_colebrook = function flx_friction_colebrook (Re, e) {
    return 1.0 / (Math.pow(_colebrook_root(Re, e), 2));
};

var friction_join;
friction_join = function flx_friction_join (Re, e) {
    var bend, f0, f1, inside, s, slope_laminar, slope_turbulent, width, x;
    width = TURBULENT_START - LAMINAR_END;
    x = _colebrook_root(TURBULENT_START, e);
    inside = (e / 3.7) + ((2.51 * x) / TURBULENT_START);
    bend = (_LOG10_SCALE * 2.51) / (inside * TURBULENT_START);
    slope_turbulent = ((((-2.0) * (Math.pow(x, (-3)))) * bend) * x) / (TURBULENT_START * (1.0 + bend));
    f0 = 64.0 / LAMINAR_END;
    f1 = Math.pow(x, (-2));
    slope_laminar = (-64.0) / Math.pow(LAMINAR_END, 2);
    s = (Re - LAMINAR_END) / width;
    return (((f0 * (1.0 + (2.0 * s))) * (Math.pow((1.0 - s), 2))) + (((f1 * s) * s) * (3.0 - (2.0 * s)))) + (width * (((slope_laminar * s) * (Math.pow((1.0 - s), 2))) - (((slope_turbulent * s) * s) * (1.0 - s))));
};

var friction_factor;
friction_factor = function flx_friction_factor (Re, e) {
    if ((Re <= LAMINAR_END)) {
        return friction_laminar(Re);
    }
    if ((Re >= TURBULENT_START)) {
        return friction_colebrook(Re, e);
    }
    return friction_join(Re, e);
};

var piece_loss;
piece_loss = function flx_piece_loss (Q, A, D, L, eps, K, nu, g) {
    var f, v;
    if ((Q <= 0.0)) {
        return 0.0;
    }
    v = Q / A;
    f = 0.0;
    if ((L > 0.0)) {
        f = friction_factor((v * D) / nu, eps / D);
    }
    return (((((f * L) / D) + K) * v) * v) / (2.0 * g);
};

var path_loss;
path_loss = function flx_path_loss (pieces, first, end, Q, nu, g) {
    var k, total;
    total = 0.0;
    for (k = first; k < end; k += 1) {
        total += piece_loss(Q, pieces.area[k], pieces.diameter[k], pieces.length[k], pieces.roughness[k], pieces.k[k], nu, g);
    }
    return total;
};

var path_flow;
path_flow = function flx_path_flow (pieces, first, end, head, guess, nu, g) {
    var _, beyond, flow, here, move, slope, target, x;
    target = math.log(head);
    x = math.log(guess);
    slope = 0.55;
    for (_ = 0; _ < 60; _ += 1) {
        flow = math.exp(x);
        here = math.log(path_loss(pieces, first, end, flow, nu, g));
        beyond = math.log(path_loss(pieces, first, end, flow * SLOPE_STEP, nu, g));
        slope = SLOPE_LOG / (beyond - here);
        move = (target - here) * slope;
        x += move;
        if ((_pyfunc_abs(move) < (1e-09))) {
            break;
        }
    }
    return [math.exp(x), slope];
};

var fill_table;
fill_table = function flx_fill_table (plan, state, path) {
    var area, end, first, flow, guess, head, k, slope, stub1_;
    first = plan.first_piece[path];
    end = plan.end_piece[path];
    area = plan.pieces.area[first];
    for (k = first + 1; k < end; k += 1) {
        area = Math.min(area, plan.pieces.area[k]);
    }
    guess = area * 0.0001;
    for (k = 0; k < TABLE_POINTS; k += 1) {
        head = math.exp(TABLE_LOG_FIRST + (TABLE_LOG_STEP * k));
        stub1_ = path_flow(plan.pieces, first, end, head, guess, plan.viscosity, plan.gravity);
        flow = stub1_[0];slope = stub1_[1];
        state.log_flow[(TABLE_POINTS * path) + k] = math.log(flow);
        state.log_slope[(TABLE_POINTS * path) + k] = slope;
        guess = flow * math.exp(slope * TABLE_LOG_STEP);
    }
    return null;
};

var curve_head;
curve_head = function flx_curve_head (flows, heads, Q) {
    var k;
    k = 0;
    while (((k < (flows.length - 2))) && (flows[k + 1] < Q)) {
        k += 1;
    }
    return heads[k] + (((heads[k + 1] - heads[k]) * (Q - flows[k])) / (flows[k + 1] - flows[k]));
};

var duty_flow;
duty_flow = function flx_duty_flow (flows, heads, pieces, first, end, lift, nu, g) {
    var _, high, low, mid;
    low = 0.0;
    high = flows[flows.length - 1];
    if ((curve_head(flows, heads, 0.0) <= lift)) {
        return 0.0;
    }
    if ((((curve_head(flows, heads, high) - lift) - path_loss(pieces, first, end, high, nu, g)) >= 0.0)) {
        return high;
    }
    for (_ = 0; _ < 60; _ += 1) {
        mid = 0.5 * (low + high);
        if (((curve_head(flows, heads, mid) - lift) > path_loss(pieces, first, end, mid, nu, g))) {
            low = mid;
        } else {
            high = mid;
        }
        if (((high - low) < (1e-14))) {
            break;
        }
    }
    return 0.5 * (low + high);
};

var fill_pump_table;
fill_pump_table = function flx_fill_pump_table (plan, state) {
    var k, path, step;
    path = plan.nodes + (2 * plan.siphons);
    step = (plan.sump_rim - plan.sump_floor) / (PUMP_POINTS - 1);
    for (k = 0; k < PUMP_POINTS; k += 1) {
        state.pump_table[k] = duty_flow(plan.curve_flow, plan.curve_head, plan.pieces, plan.first_piece[path], plan.end_piece[path], plan.pump_outlet - (plan.sump_floor + (step * k)), plan.viscosity, plan.gravity);
    }
    return null;
};

var volume_of;
volume_of = function flx_volume_of (cells, first, last, z) {
    var V0, a0, a1, dz, k, rise, s, z0, z1;
    k = first;
    while ((k < last) && (z > cells.z1[k])) {
        k += 1;
    }
    z0 = cells.z0[k];
    z1 = cells.z1[k];
    V0 = cells.V0[k];
    if ((z <= z0)) {
        return V0 + (cells.A0[k] * (z - z0));
    }
    if ((z >= z1)) {
        return cells.V1[k] + (cells.A1[k] * (z - z1));
    }
    dz = z1 - z0;
    s = (z - z0) / dz;
    rise = cells.V1[k] - V0;
    a0 = cells.A0[k] * dz;
    a1 = cells.A1[k] * dz;
    return V0 + (s * (a0 + (s * ((((3.0 * rise) - (2.0 * a0)) - a1) + (s * ((a0 + a1) - (2.0 * rise)))))));
};

var water_held;
water_held = function flx_water_held (plan, state, j) {
    var i, total;
    total = 0.0;
    for (i = 0; i < plan.nodes; i += 1) {
        if (((plan.siphon[i]==j) && (plan.junction[i]==0))) {
            total += state.volume[i];
        }
    }
    return total;
};

var prepare;
prepare = function flx_prepare (plan, state) {
    var i, j, n, path, z;
    n = plan.nodes;
    for (path = 0; path < n + (2 * plan.siphons); path += 1) {
        if ((plan.end_piece[path] > plan.first_piece[path])) {
            fill_table(plan, state, path);
        }
    }
    if ((plan.curve_flow.length > 0)) {
        fill_pump_table(plan, state);
    }
    for (i = 0; i < n + 1; i += 1) {
        z = plan.start[i];
        if (((i < n) && (plan.junction[i]==1))) {
            state.volume[i] = z;
        } else {
            state.volume[i] = volume_of(plan.cells, plan.first_cell[i], plan.last_cell[i], z);
        }
        state.cell[i] = plan.first_cell[i];
        state.low[i] = 1e+30;
        state.high[i] = -(1e+30);
        state.at_break[i] = z;
        state.at_start[i] = z;
    }
    for (j = 0; j < plan.siphons; j += 1) {
        state.volume_low[j] = 1e+30;
        state.volume_high[j] = -(1e+30);
        state.volume_break[j] = water_held(plan, state, j);
    }
    return null;
};

var level_of;
level_of = function flx_level_of (cells, first, last, V, k) {
    var A0, A1, V0, V1, _, a0, a1, c2, c3, dz, error, rise, s, slope, z0;
    while ((k < last) && (cells.V1[k] < V)) {
        k += 1;
    }
    while ((k > first) && (cells.V0[k] > V)) {
        k -= 1;
    }
    z0 = cells.z0[k];
    V0 = cells.V0[k];
    A0 = cells.A0[k];
    if ((V <= V0)) {
        return [z0 + ((V - V0) / A0), A0, k];
    }
    V1 = cells.V1[k];
    A1 = cells.A1[k];
    if ((V >= V1)) {
        return [cells.z1[k] + ((V - V1) / A1), A1, k];
    }
    dz = cells.z1[k] - z0;
    rise = V1 - V0;
    a0 = A0 * dz;
    a1 = A1 * dz;
    s = (V - V0) / rise;
    c2 = ((3.0 * rise) - (2.0 * a0)) - a1;
    c3 = (a0 + a1) - (2.0 * rise);
    if (((_pyfunc_abs(c2) + _pyfunc_abs(c3)) > ((1e-13) * rise))) {
        for (_ = 0; _ < 40; _ += 1) {
            error = (s * (a0 + (s * (c2 + (s * c3))))) - (V - V0);
            slope = a0 + (s * ((2.0 * c2) + ((3.0 * s) * c3)));
            s -= error / slope;
            if ((s < 0.0)) {
                s = 0.0;
            } else if ((s > 1.0)) {
                s = 1.0;
            }
            if ((_pyfunc_abs(error) <= ((1e-14) * V1))) {
                break;
            }
        }
    }
    return [z0 + (s * dz), (a0 + (s * ((2.0 * c2) + ((3.0 * s) * c3)))) / dz, k];
};

var set_levels;
set_levels = function flx_set_levels (plan, state, volume) {
    var A, i, k, n, stub1_, z;
    n = plan.nodes;
    for (i = 0; i < n + 1; i += 1) {
        if (((i < n) && (plan.junction[i]==1))) {
            state.level[i] = volume[i];
            state.gain[i] = 1.0;
            continue;
        }
        stub1_ = level_of(plan.cells, plan.first_cell[i], plan.last_cell[i], volume[i], state.cell[i]);
        z = stub1_[0];A = stub1_[1];k = stub1_[2];
        state.level[i] = z;
        state.gain[i] = 1.0 / A;
        state.cell[i] = k;
    }
    return null;
};

var pump_flow;
pump_flow = function flx_pump_flow (plan, state, z_sump) {
    var below, cover, flow, k, slope, step, x;
    if ((plan.curve_flow.length == 0)) {
        flow = plan.pump_flow;
        slope = 0.0;
    } else {
        step = (plan.sump_rim - plan.sump_floor) / (PUMP_POINTS - 1);
        x = (z_sump - plan.sump_floor) / step;
        k = Math.min((Math.max(_pyfunc_int(x), 0)), (PUMP_POINTS - 2));
        below = state.pump_table[k];
        slope = (state.pump_table[k + 1] - below) / step;
        flow = below + ((slope * step) * (x - k));
    }
    cover = (z_sump - plan.pump_guard) / PUMP_GUARD_BAND;
    if ((cover >= 1.0)) {
        return [flow, slope];
    }
    if ((cover <= 0.0)) {
        return [0.0, 0.0];
    }
    return [flow * cover, (slope * cover) + (flow / PUMP_GUARD_BAND)];
};

var mouth_flow;
mouth_flow = function flx_mouth_flow (plan, table, D, level) {
    var c2, c3, first, flow, k, last, m0, m1, rise, scale, t, x;
    if ((!(level > 0.0))) {
        return [0.0, 0.0];
    }
    scale = (math.sqrt(plan.gravity * D) * D) * D;
    x = math.log(level / D);
    first = MOUTH_POINTS * table;
    last = (first + MOUTH_POINTS) - 1;
    if ((x >= 0.0)) {
        flow = scale * (math.exp(plan.mouth_flow[last] + (MOUTH_FULL * x)));
        return [flow, (MOUTH_FULL * flow) / level];
    }
    x = (x - MOUTH_LOG_FIRST) / MOUTH_LOG_STEP;
    if ((x <= 0.0)) {
        flow = scale * (math.exp(plan.mouth_flow[first] + ((plan.mouth_slope[first] * x) * MOUTH_LOG_STEP)));
        return [flow, (flow / level) * plan.mouth_slope[first]];
    }
    k = Math.min(_pyfunc_int(x), (MOUTH_POINTS - 2));
    t = x - k;
    k += first;
    m0 = plan.mouth_slope[k] * MOUTH_LOG_STEP;
    m1 = plan.mouth_slope[k + 1] * MOUTH_LOG_STEP;
    rise = plan.mouth_flow[k + 1] - plan.mouth_flow[k];
    c2 = ((3.0 * rise) - (2.0 * m0)) - m1;
    c3 = (m0 + m1) - (2.0 * rise);
    flow = scale * (math.exp(plan.mouth_flow[k] + (t * (m0 + (t * (c2 + (t * c3)))))));
    return [flow, ((flow / level) * (m0 + (t * ((2.0 * c2) + ((t * 3.0) * c3))))) / MOUTH_LOG_STEP];
};

var edge_flow;
edge_flow = function flx_edge_flow (C_w, D, depth) {
    var slope;
    if ((depth <= 0.0)) {
        return [0.0, 0.0];
    }
    slope = (((1.5 * C_w) * math.pi) * D) * math.sqrt(depth);
    return [(slope * depth) / 1.5, slope];
};

var table_flow;
table_flow = function flx_table_flow (state, path, head) {
    var c2, c3, flow, k, log_flow, log_slope, m0, m1, p, rise, slope, t, x;
    log_flow = state.log_flow;
    log_slope = state.log_slope;
    p = TABLE_POINTS * path;
    if ((head <= TABLE_FIRST)) {
        slope = math.exp(log_flow[p]) / TABLE_FIRST;
        return [slope * head, slope];
    }
    x = (math.log(head) - TABLE_LOG_FIRST) / TABLE_LOG_STEP;
    k = _pyfunc_int(x);
    if ((k > (TABLE_POINTS - 2))) {
        p += TABLE_POINTS - 1;
        flow = math.exp(log_flow[p] + ((log_slope[p] * ((x - TABLE_POINTS) + 1)) * TABLE_LOG_STEP));
        return [flow, (flow / head) * log_slope[p]];
    }
    t = x - k;
    p += k;
    m0 = log_slope[p] * TABLE_LOG_STEP;
    m1 = log_slope[p + 1] * TABLE_LOG_STEP;
    rise = log_flow[p + 1] - log_flow[p];
    c2 = ((3.0 * rise) - (2.0 * m0)) - m1;
    c3 = (m0 + m1) - (2.0 * rise);
    flow = math.exp(log_flow[p] + (t * (m0 + (t * (c2 + (t * c3))))));
    return [flow, ((flow / head) * (m0 + (t * ((2.0 * c2) + ((t * 3.0) * c3))))) / TABLE_LOG_STEP];
};

var run_flow;
run_flow = function flx_run_flow (plan, state, i, z_up, z_down) {
    var back, flow, head, inlet, limit, more, outfall, over, rise, slope, step, stub1_, stub2_, stub3_, stub4_, stub5_, table, wet_down, wet_up;
    inlet = plan.inlet[i];
    outfall = plan.outfall[i];
    step = Math.max(inlet, outfall);
    table = Math.max(plan.mouth[i], 0);
    wet_down = z_down > outfall;
    head = z_up - ((wet_down)? (z_down) : (outfall));
    if ((head > 0.0)) {
        stub1_ = mouth_flow(plan, table, plan.bore[i], z_up - (((plan.mouth[i] < 0))? (outfall) : (step)));
        limit = stub1_[0];rise = stub1_[1];
        if ((plan.mouth[i] < 0)) {
            stub2_ = edge_flow(MOUTH_WEIR, plan.bore[i], z_up - inlet);
            over = stub2_[0];more = stub2_[1];
            if ((over < limit)) {
                limit = over;
                rise = more;
            }
        }
        if ((limit <= 0.0)) {
            return [0.0, 0.0, 0.0];
        }
        stub3_ = table_flow(state, i, head);
        flow = stub3_[0];slope = stub3_[1];
        if ((limit < flow)) {
            return [limit, rise, 0.0];
        }
        return [flow, slope, (wet_down)? (-slope) : (0.0)];
    }
    wet_up = (plan.junction[i]==1) || (z_up > inlet);
    back = z_down - ((wet_up)? (z_up) : (inlet));
    stub4_ = mouth_flow(plan, table, plan.bore[i], z_down - step);
    limit = stub4_[0];rise = stub4_[1];
    if (((back <= 0.0) || (limit <= 0.0))) {
        return [0.0, 0.0, 0.0];
    }
    stub5_ = table_flow(state, i, back);
    flow = stub5_[0];slope = stub5_[1];
    if ((limit < flow)) {
        return [-limit, 0.0, -rise];
    }
    return [-flow, (wet_up)? (slope) : (0.0), -slope];
};

var set_runs;
set_runs = function flx_set_runs (plan, state, first) {
    var a, b, flow, i, junction, level, net, parent, q, stub1_, to;
    parent = plan.parent;
    junction = plan.junction;
    level = state.level;
    flow = state.flow;
    net = state.net;
    for (i = 0; i < plan.nodes; i += 1) {
        net[i] = 0.0;
    }
    for (i = 0; i < plan.nodes; i += 1) {
        to = parent[i];
        if ((to < 0)) {
            continue;
        }
        if ((first || (junction[i]==1) || (junction[to]==1))) {
            stub1_ = run_flow(plan, state, i, level[i], level[to]);
            q = stub1_[0];a = stub1_[1];b = stub1_[2];
            flow[i] = q;
            state.slope_up[i] = a;
            state.slope_down[i] = b;
        }
        net[i] -= flow[i];
        net[to] += flow[i];
    }
    return null;
};

var imbalance;
imbalance = function flx_imbalance (plan, state) {
    var i, worst;
    worst = 0.0;
    for (i = 0; i < plan.nodes; i += 1) {
        if ((plan.junction[i]==1)) {
            worst = Math.max(worst, _pyfunc_abs(state.net[i]));
        }
    }
    return worst;
};

var follow;
follow = function flx_follow (plan, state) {
    var i, more, move, to;
    move = state.move;
    for (i = 0; i < plan.nodes; i += 1) {
        if ((plan.junction[i]==1)) {
            state.level[i] += move[i];
        }
    }
    for (i = 0; i < plan.nodes; i += 1) {
        to = plan.parent[i];
        if ((to >= 0)) {
            more = (state.slope_up[i] * move[i]) + (state.slope_down[i] * move[to]);
            state.flow[i] += more;
            state.net[i] -= more;
            state.net[to] += more;
        }
    }
    return null;
};

var settle_each;
settle_each = function flx_settle_each (plan, state) {
    var _, above, below, high, i, low;
    low = 1e+30;
    high = -(1e+30);
    for (i = 0; i < plan.nodes; i += 1) {
        if ((plan.junction[i]==0)) {
            low = Math.min(low, state.level[i]);
            high = Math.max(high, state.level[i]);
        }
        if ((plan.parent[i] >= 0)) {
            low = Math.min(low, plan.inlet[i], plan.outfall[i]);
            high = Math.max(high, plan.inlet[i], plan.outfall[i]);
        }
    }
    for (i = 0; i < plan.nodes; i += 1) {
        if ((plan.junction[i]==1)) {
            below = low - BEYOND;
            above = high + BEYOND;
            for (_ = 0; _ < 70; _ += 1) {
                state.level[i] = 0.5 * (below + above);
                set_runs(plan, state, false);
                if ((state.net[i] > 0.0)) {
                    below = state.level[i];
                } else {
                    above = state.level[i];
                }
            }
        }
    }
    return null;
};

var balance_junctions;
balance_junctions = function flx_balance_junctions (plan, state, volume) {
    var _, done, down, i, junction, left, level, move, n, parent, part, pivot, to, up, worst;
    n = plan.nodes;
    parent = plan.parent;
    junction = plan.junction;
    level = state.level;
    up = state.slope_up;
    down = state.slope_down;
    pivot = state.pivot;
    move = state.move;
    worst = imbalance(plan, state);
    for (_ = 0; _ < 60; _ += 1) {
        if ((worst <= BALANCED)) {
            break;
        }
        for (i = 0; i < n; i += 1) {
            pivot[i] = up[i];
            move[i] = state.net[i];
        }
        for (i = 0; i < n; i += 1) {
            to = parent[i];
            if ((junction[i]==1)) {
                pivot[i] = Math.max(pivot[i], LEAST_PIVOT);
            }
            if (((to < 0) || (junction[to]==0))) {
                continue;
            }
            pivot[to] -= down[i];
            if ((junction[i]==1)) {
                pivot[to] += (up[i] * down[i]) / pivot[i];
                move[to] += (up[i] / pivot[i]) * move[i];
            }
        }
        for (i = n - 1; i > -1; i += -1) {
            if ((junction[i]==0)) {
                move[i] = 0.0;
                continue;
            }
            move[i] = (move[i] - (down[i] * (move[parent[i]]))) / pivot[i];
        }
        if ((worst <= NEARLY)) {
            follow(plan, state);
            break;
        }
        part = 1.0;
        done = 0.0;
        for (_ = 0; _ < 30; _ += 1) {
            for (i = 0; i < n; i += 1) {
                if ((junction[i]==1)) {
                    level[i] += (part - done) * move[i];
                }
            }
            set_runs(plan, state, false);
            left = imbalance(plan, state);
            done = part;
            if (((left <= BALANCED) || (left < ((1.0 - (0.2 * part)) * worst)))) {
                break;
            }
            part *= 0.5;
        }
        if ((left >= (0.5 * worst))) {
            for (_ = 0; _ < SWEEPS; _ += 1) {
                settle_each(plan, state);
                left = imbalance(plan, state);
                if ((left < (0.5 * worst))) {
                    break;
                }
            }
        }
        worst = left;
    }
    for (i = 0; i < n; i += 1) {
        if ((junction[i]==1)) {
            volume[i] = level[i];
        }
    }
    return null;
};

var lip_crossing;
lip_crossing = function flx_lip_crossing (C_w, C_d, g) {
    return (C_d * math.sqrt(2.0 * g)) / (4.0 * C_w);
};

var lip_flow_slope;
lip_flow_slope = function flx_lip_flow_slope (C_w, C_d, D, depth, g) {
    var flow;
    if ((depth < (lip_crossing(C_w, C_d, g) * D))) {
        return edge_flow(C_w, D, depth);
    }
    flow = ((((C_d * 0.25) * math.pi) * D) * D) * (math.sqrt((2.0 * g) * depth));
    return [flow, (0.5 * flow) / depth];
};

var siphon_outflow;
siphon_outflow = function flx_siphon_outflow (plan, state, j) {
    var a, drowned, end, head, q, stub1_, stub2_, z, z_sump;
    z = state.level[plan.root[j]];
    if ((state.regime[j]!=SIPHONING)) {
        stub1_ = lip_flow_slope(plan.lip_weir[j], plan.lip_orifice[j], plan.lip_diameter[j], z - plan.lip[j], plan.gravity);
        q = stub1_[0];a = stub1_[1];
        return [q, a, 0.0];
    }
    z_sump = state.level[plan.nodes];
    end = ((state.open[j]==1))? (plan.foot[j]) : (plan.tail[j]);
    drowned = z_sump > end;
    head = z - ((drowned)? (z_sump) : (end));
    if ((!(head > 0.0))) {
        return [0.0, 0.0, 0.0];
    }
    stub2_ = table_flow(state, (plan.nodes + (((state.open[j]==1))? (plan.siphons) : (0))) + j, head);
    q = stub2_[0];a = stub2_[1];
    return [q, a, (drowned)? (-a) : (0.0)];
};

var set_flows;
set_flows = function flx_set_flows (plan, state, volume) {
    var a, b, i, j, n, pump_slope, pumped, q, rate, root, stub1_, stub2_;
    set_levels(plan, state, volume);
    n = plan.nodes;
    rate = state.rate;
    stub1_ = pump_flow(plan, state, state.level[n]);
    pumped = stub1_[0];pump_slope = stub1_[1];
    state.flow[n] = pumped;
    state.slope_up[n] = pump_slope;
    set_runs(plan, state, true);
    balance_junctions(plan, state, volume);
    for (i = 0; i < n; i += 1) {
        rate[i] = state.net[i] + (plan.share[i] * pumped);
    }
    rate[n] = -pumped;
    for (j = 0; j < plan.siphons; j += 1) {
        root = plan.root[j];
        stub2_ = siphon_outflow(plan, state, j);
        q = stub2_[0];a = stub2_[1];b = stub2_[2];
        state.flow[root] = q;
        state.slope_up[root] = a;
        state.slope_down[root] = b;
        rate[root] -= q;
        rate[n] += q;
        rate[(n + 1) + j] = q;
    }
    rate[(n + 1) + plan.siphons] = pumped;
    return null;
};

var solve_tree;
solve_tree = function flx_solve_tree (plan, state, x) {
    var i, parent;
    parent = plan.parent;
    for (i = 0; i < plan.nodes; i += 1) {
        if ((parent[i] >= 0)) {
            x[parent[i]] -= state.lower[i] * x[i];
        }
    }
    for (i = plan.nodes - 1; i > -1; i += -1) {
        if ((parent[i] >= 0)) {
            x[i] -= state.upper[i] * (x[parent[i]]);
        }
        x[i] /= state.diagonal[i];
    }
    return null;
};

var factor;
factor = function flx_factor (plan, state, weight) {
    var border, diagonal, down, gain, i, j, n, parent, pivot, pump_gain, root, to, up;
    n = plan.nodes;
    parent = plan.parent;
    gain = state.gain;
    up = state.slope_up;
    down = state.slope_down;
    diagonal = state.diagonal;
    border = state.border;
    pump_gain = up[n] * gain[n];
    state.by_sump[plan.siphons] = pump_gain;
    pivot = weight + pump_gain;
    for (i = 0; i < n; i += 1) {
        diagonal[i] = (((plan.junction[i]==1))? (0.0) : (weight)) + (up[i] * gain[i]);
        border[i] = (-plan.share[i]) * pump_gain;
    }
    for (i = 0; i < n; i += 1) {
        if ((parent[i] >= 0)) {
            diagonal[parent[i]] -= down[i] * (gain[parent[i]]);
        }
    }
    for (j = 0; j < plan.siphons; j += 1) {
        root = plan.root[j];
        state.by_root[j] = up[root] * gain[root];
        state.by_sump[j] = down[root] * gain[n];
        border[root] += state.by_sump[j];
        pivot -= state.by_sump[j];
    }
    for (i = 0; i < n; i += 1) {
        to = parent[i];
        if ((plan.junction[i]==1)) {
            diagonal[i] = Math.max(diagonal[i], LEAST_PIVOT);
        }
        if ((to >= 0)) {
            state.upper[i] = down[i] * gain[to];
            state.lower[i] = ((-up[i]) * gain[i]) / diagonal[i];
            diagonal[to] -= state.lower[i] * state.upper[i];
        }
    }
    solve_tree(plan, state, border);
    for (j = 0; j < plan.siphons; j += 1) {
        pivot += state.by_root[j] * (border[plan.root[j]]);
    }
    diagonal[n] = pivot;
    return null;
};

var solve;
solve = function flx_solve (plan, state, x, weight) {
    var i, j, last, n, sump;
    n = plan.nodes;
    last = (n + 1) + plan.siphons;
    solve_tree(plan, state, x);
    for (j = 0; j < plan.siphons; j += 1) {
        x[n] += state.by_root[j] * (x[plan.root[j]]);
    }
    x[n] /= state.diagonal[n];
    sump = x[n];
    for (i = 0; i < n; i += 1) {
        x[i] -= state.border[i] * sump;
    }
    for (j = 0; j < plan.siphons; j += 1) {
        x[(n + 1) + j] += (state.by_root[j] * (x[plan.root[j]])) + (state.by_sump[j] * sump);
        x[(n + 1) + j] /= weight;
    }
    x[last] = (x[last] + (state.by_sump[plan.siphons] * sump)) / weight;
    return null;
};

var stage;
stage = function flx_stage (plan, state, x, h, c1, c2, c3) {
    var i;
    for (i = 0; i < (plan.nodes + plan.siphons) + 2; i += 1) {
        x[i] = state.rate[i];
        if (((i >= plan.nodes) || (plan.junction[i]==0))) {
            x[i] += (((c1 * state.k1[i]) + (c2 * state.k2[i])) + (c3 * state.k3[i])) / h;
        }
    }
    solve(plan, state, x, 2.0 / h);
    return null;
};

var attempt;
attempt = function flx_attempt (plan, state, h, known) {
    var error, i, k1, k3, k4, n, trial, volume, width, worst;
    n = plan.nodes;
    width = (n + plan.siphons) + 2;
    volume = state.volume;
    trial = state.trial;
    k1 = state.k1;
    k3 = state.k3;
    k4 = state.k4;
    if ((!known)) {
        set_flows(plan, state, volume);
    }
    factor(plan, state, 2.0 / h);
    for (i = 0; i < width; i += 1) {
        k1[i] = 0.0;
        state.k2[i] = 0.0;
        k3[i] = 0.0;
    }
    stage(plan, state, k1, h, 0.0, 0.0, 0.0);
    stage(plan, state, state.k2, h, 4.0, 0.0, 0.0);
    for (i = 0; i < width; i += 1) {
        trial[i] = volume[i] + (2.0 * k1[i]);
    }
    set_flows(plan, state, trial);
    stage(plan, state, k3, h, 1.0, -1.0, 0.0);
    for (i = 0; i < width; i += 1) {
        trial[i] = (volume[i] + (2.0 * k1[i])) + k3[i];
    }
    set_flows(plan, state, trial);
    stage(plan, state, k4, h, 1.0, -1.0, (-8.0) / 3.0);
    worst = 0.0;
    for (i = 0; i < width; i += 1) {
        trial[i] += k4[i];
    }
    for (i = 0; i < n + 1; i += 1) {
        if (((i < n) && (plan.junction[i]==1))) {
            continue;
        }
        error = _pyfunc_abs((k4[i] * state.gain[i]));
        worst = ((error==error))? (Math.max(worst, error)) : (1e+30);
    }
    return worst / plan.tolerance;
};

var miss;
miss = function flx_miss (plan, state, volume, j) {
    var regime, z;
    z = state.level[plan.root[j]];
    regime = state.regime[j];
    if ((regime==FILLING)) {
        return z - plan.lip[j];
    }
    if ((regime==SPILLING)) {
        return z - plan.start_level[j];
    }
    if ((regime==PURGING)) {
        return (volume[(plan.nodes + 1) + j] - state.out_choke[j]) - plan.purge[j];
    }
    if ((regime==SIPHONING)) {
        if (((state.open[j]==0) && (state.level[plan.nodes] <= plan.tail[j]))) {
            return Math.max(plan.rim[j], plan.opens[j]) - z;
        }
        return plan.rim[j] - z;
    }
    return -1.0;
};

var locate;
locate = function flx_locate (plan, state, h, j) {
    var before, f, f_high, f_low, high, low, middle, part, turn;
    set_levels(plan, state, state.volume);
    before = miss(plan, state, state.volume, j);
    set_levels(plan, state, state.trial);
    low = 0.0;
    high = h;
    f_low = Math.min(before, (-LOCATED));
    f_high = miss(plan, state, state.trial, j);
    for (turn = 0; turn < 60; turn += 1) {
        if (((((high - low) < ((1e-12) * h))) || (f_high < LOCATED))) {
            break;
        }
        part = f_low / (f_low - f_high);
        if (((turn % 3)==2)) {
            part = 0.5;
        }
        middle = low + ((high - low) * (Math.min((Math.max((part + (1e-09)), (1e-06))), (1.0 - (1e-09)))));
        attempt(plan, state, middle, false);
        set_levels(plan, state, state.trial);
        f = miss(plan, state, state.trial, j);
        if ((f >= 0.0)) {
            high = middle;
            f_high = f;
        } else {
            low = middle;
            f_low = f;
        }
    }
    attempt(plan, state, high, false);
    set_levels(plan, state, state.trial);
    return high;
};

var watch;
watch = function flx_watch (plan, state) {
    var V, i, j, z;
    for (i = 0; i < plan.nodes + 1; i += 1) {
        z = state.level[i];
        state.low[i] = Math.min(state.low[i], z);
        state.high[i] = Math.max(state.high[i], z);
    }
    for (j = 0; j < plan.siphons; j += 1) {
        V = water_held(plan, state, j);
        state.volume_low[j] = Math.min(state.volume_low[j], V);
        state.volume_high[j] = Math.max(state.volume_high[j], V);
        if ((state.regime[j]==SIPHONING)) {
            state.flow_high[j] = Math.max(state.flow_high[j], (state.flow[plan.root[j]]));
        }
    }
    return null;
};

var record;
record = function flx_record (plan, state, trace, row, t) {
    var at, i, j, junction, n;
    if ((row >= trace.times.length)) {
        return row;
    }
    n = plan.nodes;
    trace.times[row] = t;
    trace.pumps[row] = state.flow[n];
    for (i = 0; i < n + 1; i += 1) {
        at = (row * (n + 1)) + i;
        trace.levels[at] = state.level[i];
        junction = (i < n) && (plan.junction[i]==1);
        trace.rates[at] = (junction)? (0.0) : (state.rate[i] * state.gain[i]);
    }
    for (j = 0; j < plan.siphons; j += 1) {
        at = (row * plan.siphons) + j;
        trace.outflows[at] = state.flow[plan.root[j]];
        trace.regimes[at] = state.regime[j];
    }
    return row + 1;
};

var report_cycle;
report_cycle = function flx_report_cycle (plan, state, cycles, j, t, outcome) {
    var i, misfit, root, z;
    root = plan.root[j];
    misfit = 0.0;
    for (i = 0; i < plan.nodes; i += 1) {
        if ((plan.siphon[i]!=j)) {
            continue;
        }
        z = state.level[i];
        if ((plan.junction[i]==0)) {
            misfit = Math.max(misfit, (_pyfunc_abs((z - state.at_break[i]))));
        }
        cycles.low[i] = state.low[i];
        cycles.high[i] = state.high[i];
        cycles.at_break[i] = z;
        cycles.at_start[i] = state.at_start[i];
        state.at_break[i] = z;
        state.low[i] = z;
        state.high[i] = z;
    }
    cycles.outcome[j] = outcome;
    cycles.began[j] = state.break_time[j];
    cycles.spill_time[j] = state.spill_time[j];
    cycles.choke_time[j] = state.choke_time[j];
    cycles.start_time[j] = state.start_time[j];
    cycles.ended[j] = t;
    cycles.flow_start[j] = state.flow_start[j];
    cycles.flow_high[j] = state.flow_high[j];
    cycles.flow_end[j] = state.flow[root];
    cycles.misfit[j] = misfit;
    cycles.volume_low[j] = state.volume_low[j];
    cycles.volume_high[j] = state.volume_high[j];
    cycles.level[j] = state.level[root];
    cycles.breaks[j] = state.breaks[j];
    return misfit;
};

var on_break;
on_break = function flx_on_break (plan, state, cycles, j, t) {
    var V, came, i, misfit, n, out, pumped, share, stored, went;
    n = plan.nodes;
    V = water_held(plan, state, j);
    out = state.volume[(n + 1) + j];
    share = 0.0;
    for (i = 0; i < n; i += 1) {
        if ((plan.siphon[i]==j)) {
            share += plan.share[i];
        }
    }
    pumped = share * state.volume[(n + 1) + plan.siphons];
    state.breaks[j] += 1;
    if ((state.done[j]==0)) {
        misfit = report_cycle(plan, state, cycles, j, t, CYCLES);
        came = pumped - state.pumped_break[j];
        went = out - state.out_break[j];
        stored = V - state.volume_break[j];
        cycles.pumped[j] = came;
        cycles.drained[j] = went;
        if ((came > 0.0)) {
            cycles.balance[j] = ((came - went) - stored) / came;
        }
        if (((state.breaks[j] > 1) && (misfit < plan.repeat))) {
            state.done[j] = 1;
        }
    }
    state.break_time[j] = t;
    state.out_break[j] = out;
    state.pumped_break[j] = pumped;
    state.volume_break[j] = V;
    state.volume_low[j] = V;
    state.volume_high[j] = V;
    state.flow_high[j] = 0.0;
    state.regime[j] = FILLING;
    return null;
};

var on_event;
on_event = function flx_on_event (plan, state, cycles, j, t) {
    var drowned, i, regime;
    regime = state.regime[j];
    if ((regime==FILLING)) {
        state.regime[j] = SPILLING;
        state.spill_time[j] = t;
    } else if ((regime==SPILLING)) {
        state.regime[j] = PURGING;
        state.choke_time[j] = t;
        state.out_choke[j] = state.volume[(plan.nodes + 1) + j];
    } else if ((regime==PURGING)) {
        state.regime[j] = SIPHONING;
        state.start_time[j] = t;
        drowned = state.level[plan.nodes] > plan.tail[j];
        state.open[j] = 1 - ((drowned)? (plan.fills_drowned[j]) : (plan.fills[j]));
        set_flows(plan, state, state.volume);
        state.flow_start[j] = state.flow[plan.root[j]];
        for (i = 0; i < plan.nodes; i += 1) {
            if ((plan.siphon[i]==j)) {
                state.at_start[i] = state.level[i];
            }
        }
    } else if (((state.level[plan.root[j]]) > (plan.rim[j] + LOCATED))) {
        state.open[j] = 1;
    } else {
        on_break(plan, state, cycles, j, t);
    }
    return null;
};

var settle;
settle = function flx_settle (plan, state, cycles, t) {
    var all_done, i, j, moving, outcome;
    all_done = true;
    for (j = 0; j < plan.siphons; j += 1) {
        if ((state.done[j]==1)) {
            continue;
        }
        moving = 0.0;
        for (i = 0; i < plan.nodes; i += 1) {
            if (((plan.siphon[i]==j) && (plan.junction[i]==0))) {
                moving = Math.max(moving, (_pyfunc_abs((state.rate[i] * state.gain[i]))));
            }
        }
        if (((moving < SETTLED) && (state.regime[j]!=PURGING))) {
            outcome = IDLE;
            if ((state.regime[j]==SPILLING)) {
                outcome = SPILLS;
            } else if ((state.regime[j]==SIPHONING)) {
                outcome = RUNS_ON;
            }
            report_cycle(plan, state, cycles, j, t, outcome);
            state.done[j] = 1;
        } else {
            all_done = false;
        }
    }
    return all_done;
};

var run;
run = function flx_run (plan, state, cycles, trace) {
    var balance, below, drained, error, event, h, i, j, known, lost, n, pumped, rejected, rows, siphons, status, steps, stored, stored_start, sump_start, t, took, volume;
    prepare(plan, state);
    n = plan.nodes;
    siphons = plan.siphons;
    volume = state.volume;
    stored_start = 0.0;
    for (j = 0; j < siphons; j += 1) {
        stored_start += state.volume_break[j];
    }
    sump_start = volume[n];
    t = 0.0;
    h = 0.001;
    status = 1;
    steps = 0;
    rejected = 0;
    rows = 0;
    known = false;
    while (t < plan.time_max) {
        if (((steps + rejected) > STEPS_MAX)) {
            status = 2;
            break;
        }
        h = Math.min(h, plan.step_max);
        error = attempt(plan, state, h, known);
        known = false;
        if (((error > 1.0) && (h > STEP_MIN))) {
            rejected += 1;
            h = Math.max((h * (Math.max(0.2, (0.9 * (Math.pow(error, ((-1.0) / 3.0))))))), STEP_MIN);
            continue;
        }
        set_levels(plan, state, state.trial);
        event = -1;
        took = h;
        for (j = 0; j < siphons; j += 1) {
            if ((miss(plan, state, state.trial, j) >= 0.0)) {
                took = locate(plan, state, took, j);
                event = j;
            }
        }
        steps += 1;
        t += took;
        for (i = 0; i < (n + siphons) + 2; i += 1) {
            volume[i] = state.trial[i];
        }
        set_flows(plan, state, volume);
        watch(plan, state);
        rows = record(plan, state, trace, rows, t);
        if ((event >= 0)) {
            on_event(plan, state, cycles, event, t);
            set_flows(plan, state, volume);
            rows = record(plan, state, trace, rows, t);
            h = Math.min(h, 0.05);
        } else {
            for (j = 0; j < siphons; j += 1) {
                below = plan.lip[j] - (state.level[plan.root[j]]);
                if (((((state.regime[j]==SPILLING) || (state.regime[j]==PURGING))) && ((below > (1e-06))))) {
                    state.regime[j] = FILLING;
                }
            }
            h = h * (Math.min(5.0, (Math.max(0.2, (0.9 * (Math.pow((Math.max(error, (1e-09))), ((-1.0) / 3.0))))))));
        }
        known = true;
        if (settle(plan, state, cycles, t)) {
            status = 0;
            break;
        }
    }
    stored = 0.0;
    drained = 0.0;
    for (j = 0; j < siphons; j += 1) {
        stored += water_held(plan, state, j);
        drained += volume[(n + 1) + j];
        if ((state.done[j]==0)) {
            report_cycle(plan, state, cycles, j, t, UNSETTLED);
        }
    }
    stored -= stored_start;
    pumped = volume[(n + 1) + siphons];
    lost = Math.max((_pyfunc_abs(((pumped - drained) - stored))), (_pyfunc_abs(((drained - pumped) - (volume[n] - sump_start)))));
    balance = ((pumped > 0.0))? (lost / pumped) : (lost);
    return [status, steps, rejected, t, pumped, drained, stored, balance, state.low[n], state.high[n], rows];
};

var entries;
entries = function flx_entries (field, plan, rows) {
    if (((field=="log_flow") || (field=="log_slope"))) {
        return TABLE_POINTS * (plan.nodes + (2 * plan.siphons));
    }
    if ((field=="pump_table")) {
        return PUMP_POINTS;
    }
    if (((field=="times") || (field=="pumps"))) {
        return rows;
    }
    if (((field=="levels") || (field=="rates"))) {
        return rows * (plan.nodes + 1);
    }
    if (((field=="outflows") || (field=="regimes"))) {
        return rows * plan.siphons;
    }
    return (plan.nodes + plan.siphons) + 2;
};

function zeros(fields, plan, rows) {
    var found = {};
    fields.forEach(function (name) { found[name] = new Float64Array(entries(name, plan, rows)); });
    return found;
}
return {
    run: function (plan, rows) {
        var cycles = zeros(["outcome", "began", "spill_time", "choke_time", "start_time", "ended", "flow_start", "flow_high", "flow_end", "level", "volume_low", "volume_high", "pumped", "drained", "balance", "breaks", "misfit", "low", "high", "at_start", "at_break"], plan, rows), trace = zeros(["times", "levels", "rates", "outflows", "regimes", "pumps"], plan, rows);
        var found = run(plan, zeros(["volume", "trial", "rate", "k1", "k2", "k3", "k4", "level", "gain", "cell", "flow", "slope_up", "slope_down", "net", "low", "high", "at_start", "at_break", "diagonal", "lower", "upper", "border", "move", "pivot", "by_root", "by_sump", "regime", "open", "done", "breaks", "out_choke", "spill_time", "choke_time", "start_time", "break_time", "flow_start", "flow_high", "volume_low", "volume_high", "volume_break", "out_break", "pumped_break", "log_flow", "log_slope", "pump_table"], plan, rows), cycles, trace), totals = {};
        ["status", "steps", "rejected", "time", "pumped", "drained", "stored", "balance", "sump_low", "sump_high", "rows"].forEach(function (name, k) { totals[name] = found[k]; });
        return {totals: totals, cycles: cycles, trace: trace};
    }
};
})();
