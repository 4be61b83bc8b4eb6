// Makes the page's pictures interactive: crosshair with values, curves on and off, zoom, linked
// within an assembly. The data is the JSON beside each picture; dygraphs draws it.
"use strict";
(() => {
    const css = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
    const steps = ["#00336f", "#39486b", "#6c6d72", "#948e77", "#b9a84f"];
    const lightSteps = ["#5b9bff", "#8aa0c8", "#a9abb0", "#c9c08f", "#ffe169"];
    const kinds = ["#0072b2", "#e69f00", "#009e73", "#cc79a7", "#56b4e9", "#d55e00", "#b0a000", "#999999"];
    const dark = matchMedia("(prefers-color-scheme: dark)");

    const hertz = f => {
        const [value, unit] = f >= 1e6 ? [f / 1e6, "MHz"] : f >= 1e3 ? [f / 1e3, "kHz"] : [f, "Hz"];
        return `${Number(value.toPrecision(4))} ${unit}`;
    };
    const number = y => y === null || Number.isNaN(y) ? "–" : String(Number(y.toPrecision(4)));
    // The largest parts at one frequency, as many as chart.cpp looks for, and all others together.
    const mostTold = 3;
    const smallestTold = 0.5;  // percent, as in the program's own tables
    const shares = ({ curves, breakdown, frequency_hz }, row) => {
        const at = breakdown.at ? `${hertz(frequency_hz[row])}, ${breakdown.at}` : hertz(frequency_hz[row]);
        const parts = [...curves.filter(c => !c.rest), ...breakdown.beyond]
            .map(c => ({ name: c.name, share: c.y[row] }))
            .filter(c => c.share !== null && c.share >= smallestTold)
            .sort((a, b) => b.share - a.share).slice(0, mostTold);
        if (parts.length === 0) return `${at}: no noise`;
        const rest = 100 - parts.reduce((sum, c) => sum + c.share, 0);
        if (rest >= smallestTold) parts.push({ name: "others", share: rest });
        const whole = breakdown.whole[row];
        const total = whole === null ? "" : `${number(whole)} ${breakdown.unit} ${breakdown.where} — `;
        return `${at}: ${total}${parts.map(c => `${c.name} ${Math.round(c.share)} %`).join(", ")}`;
    };
    // A tick at 1, 2 and 5 of each decade; in a narrow picture names at 20 Hz, 200 Hz and so on alone.
    const ticks = (low, high, pixels) => {
        const decade_px = pixels / Math.log10(high / low);
        const list = [];
        for (let decade = 10 ** Math.floor(Math.log10(low)); decade <= high; decade *= 10) {
            for (const step of [1, 2, 5]) {
                const f = Number((decade * step).toPrecision(6));
                const named = step === 2 || decade_px > 150 && (step === 1 || decade_px > 200);
                if (f < low * 0.999999 || f > high * 1.000001) continue;
                list.push({ v: f, label: named ? hertz(f) : "" });
            }
        }
        return list;
    };
    // "2M" and not "2000000", for which there is no room.
    const short = y => Math.abs(y) >= 1e6 ? `${number(y / 1e6)}M` : Math.abs(y) >= 1e4 ? `${number(y / 1e3)}k` : number(y);
    // The range of all curves with room beyond, so that none lies on the frame.
    const room = chart => {
        const all = chart.curves.flatMap(c => c.y).filter(y => y !== null && (!chart.log_y || y > 0));
        if (all.length === 0) return undefined;
        const [low, high] = all.reduce(([a, b], y) => [Math.min(a, y), Math.max(b, y)], [Infinity, -Infinity]);
        if (chart.log_y) return [low / 1.25, high * 1.25];
        const edge = 0.06 * (high - low) || Math.max(1, Math.abs(high) / 10);
        return [low - edge, high + edge];
    };

    function colours({ curves, by_knob: knob }) {
        const count = curves.filter(c => c.kind === "line").length;
        let k = 0;
        return curves.map(curve => {
            if (curve.kind === "bound") return css("--bad");
            const scale = dark.matches ? lightSteps : steps;
            const step = knob && count > 1 ? Math.floor(k * (scale.length - 1) / (count - 1)) : 0;
            const kind = curve.colour ?? k;
            const colour = knob ? scale[Math.min(step, scale.length - 1)] : kinds[kind % kinds.length];
            k += 1;
            return colour;
        });
    }

    function makeInteractive(figure, linked) {
        const chart = JSON.parse(figure.querySelector("script[type='application/json']").textContent);
        chart.frequency_hz ??= linked[0].chart.frequency_hz;
        const area = chart.curves.some(c => c.kind === "area");
        const live = figure.querySelector(".live");
        const plot = live.querySelector(".plot");
        const readout = live.querySelector("output");
        const rows = chart.frequency_hz.map((f, k) => [f, ...chart.curves.map(c => c.y[k])]);
        const unit = chart.y_label.split(", ").pop();

        const show = row => {
            if (row === null || row === undefined || row < 0) { readout.textContent = ""; return; }
            const values = chart.curves
                .map((c, k) => graph.visibility()[k] && (c.kind !== "bound" || c.y[row] !== null) ? `${c.name || "value"} ${number(c.y[row])} ${unit}` : null)
                .filter(Boolean);
            const lines = [`${hertz(chart.frequency_hz[row])}: ${values.join("; ")}`];
            // Of a density all parts are told whose it is, at the knob position whose parts are drawn.
            const parted = chart.breakdown ? chart : linked.map(other => other.chart).find(c => c.breakdown?.unit === unit);
            if (parted) lines.push(shares(parted, row));
            readout.replaceChildren(...lines.slice(chart.breakdown ? 1 : 0).map(line => {
                const span = document.createElement("span");
                span.textContent = line;
                return span;
            }));
            plot.dataset.row = row;
        };
        // Where the keyboard or a finger points, in all pictures of the assembly.
        const pick = row => {
            graph.setSelection(row);
            show(row);
            for (const other of linked) if (other.graph !== graph) other.select(row);
        };
        // The library keys its tables by label: a part called "__proto__", or two of one name, must
        // not be one. Nobody sees these labels.
        const labels = chart.curves.map((c, k) => `curve ${k}`);
        const series = {};
        chart.curves.forEach((c, k) => {
            series[labels[k]] = c.kind === "bound" ? { strokePattern: [6, 4], strokeWidth: 2 } : {};
        });
        const graph = new Dygraph(plot, rows, {
            labels: ["frequency", ...labels],
            xlabel: "frequency, Hz", ylabel: chart.y_label,
            colors: colours(chart), series,
            strokeWidth: 1.8, connectSeparatedPoints: false,
            stackedGraph: area, fillGraph: area, fillAlpha: 0.6,
            logscale: chart.log_y, legend: "never", animatedZooms: false,
            axisLineColor: css("--faint"), gridLineColor: css("--rule"),
            axes: {
                x: { logscale: true, ticker: ticks },
                // Zero of a stack is in the corner, where the lowest frequency stands.
                y: { axisLabelWidth: 56, axisLabelFormatter: y => area && y === 0 ? "" : short(y) },
            },
            // A point beyond the range is not drawn, and rounded shares add up to a little more.
            valueRange: area ? [0, 100.1] : room(chart),
            highlightCallback: (event, x, points, row) => {
                show(row);
                for (const other of linked) if (other.graph !== graph) other.select(row);
            },
            unhighlightCallback: () => {
                show(null);
                for (const other of linked) if (other.graph !== graph) other.select(null);
            },
        });

        plot.graph = graph;
        const list = live.querySelector(".curves");
        const boxes = [];
        const swatches = [];
        chart.curves.forEach((curve, k) => {
            const label = document.createElement("label");
            const box = document.createElement("input");
            box.type = "checkbox";
            box.checked = true;
            box.dataset.curve = curve.name;
            const swatch = document.createElement("i");
            label.append(box, " ", swatch, " ", curve.name || "value");
            list[area ? "prepend" : "append"](label);  // the largest part first
            boxes.push(box);
            swatches.push(swatch);
            box.addEventListener("change", () => {
                graph.setVisibility(k, box.checked);
                // A knob position is shown or hidden in all pictures of the assembly.
                if (!chart.by_knob || curve.kind === "bound") return;
                for (const other of linked) other.toggle(curve.name, box.checked);
            });
        });
        const paint = () => {
            const now = colours(chart);
            swatches.forEach((swatch, k) => { swatch.style.borderTopColor = now[k]; });
            graph.updateOptions({
                colors: now, axisLineColor: css("--faint"), gridLineColor: css("--rule"),
            });
        };
        dark.addEventListener("change", paint);
        paint();

        // The same by keyboard: arrows move the crosshair, + and - zoom about it, 0 shows all.
        plot.addEventListener("keydown", event => {
            const last = rows.length - 1;
            const at = plot.dataset.row === undefined ? -1 : Number(plot.dataset.row);
            const moves = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: last };
            if (event.key in moves) {
                pick(Math.max(0, Math.min(last, moves[event.key])));
            } else if (event.key === "+" || event.key === "-") {
                const [low, high] = graph.xAxisRange().map(Math.log);
                const middle = at < 0 ? (low + high) / 2 : Math.log(rows[at][0]);
                const half = (high - low) / 2 * (event.key === "+" ? 0.6 : 1.6);
                const range = [middle - half, middle + half].map(Math.exp);
                graph.updateOptions({ dateWindow: [
                    Math.max(range[0], rows[0][0]), Math.min(range[1], rows[last][0])] });
            } else if (event.key === "0" || event.key === "Escape") {
                graph.resetZoom();
            } else {
                return;
            }
            event.preventDefault();
        });
        // One finger reads values, and does not move the curves under it; two zoom.
        const touched = event => {
            if (event.touches.length !== 1) return;
            event.stopPropagation();
            const f = graph.toDataXCoord(event.touches[0].clientX - plot.getBoundingClientRect().left);
            const off = k => Math.abs(Math.log(rows[k][0] / f));
            pick(rows.reduce((best, row, k) => off(k) < off(best) ? k : best, 0));
        };
        plot.addEventListener("touchstart", touched, { capture: true, passive: true });
        plot.addEventListener("touchmove", touched, { capture: true, passive: true });
        live.querySelector("button").addEventListener("click", () => graph.resetZoom());

        linked.push({
            graph,
            chart,
            select(row) {
                if (row === null) graph.clearSelection(); else graph.setSelection(row);
                show(row);
            },
            toggle(name, on) {
                chart.curves.forEach((curve, k) => {
                    if (curve.name !== name || graph.visibility()[k] === on) return;
                    graph.setVisibility(k, on);
                    boxes[k].checked = on;
                });
            },
        });
    }

    document.documentElement.classList.add("has-script");
    for (const assembly of document.querySelectorAll(".assembly")) {
        const linked = [];
        const start = () => {
            for (const figure of assembly.querySelectorAll("figure")) makeInteractive(figure, linked);
        };
        // A picture in a closed section has no width yet.
        const folded = assembly.closest("details:not([open])");
        if (folded) folded.addEventListener("toggle", start, { once: true }); else start();
    }
})();
