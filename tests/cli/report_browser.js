// Uses the page as a reader would; what it finds wrong stands in #result.
"use strict";
(() => {
    const wrong = [];
    const check = (truth, text) => { if (!truth) wrong.push(text); };
    const figures = [...document.querySelectorAll("details[open] .assembly")][0].querySelectorAll("figure");
    const plot = figures[0].querySelector(".plot");
    const readout = figures[0].querySelector("output");
    const data = JSON.parse(figures[0].querySelector("script[type='application/json']").textContent);
    const graph = plot.graph;

    // The crosshair's values are those of the JSON.
    const canvas = plot.querySelectorAll("canvas")[1] || plot.querySelector("canvas");
    const mouse = (kind, x, y) => canvas.dispatchEvent(new MouseEvent(kind, {
        bubbles: true, cancelable: true, view: window, button: 0, clientX: x, clientY: y }));
    const box = canvas.getBoundingClientRect();
    for (const along of [0.3, 0.6, 0.8]) {
        mouse("mousemove", box.left + along * box.width, box.top + box.height / 2);
        const row = Number(plot.dataset.row);
        check(row > 0 && row < data.frequency_hz.length, `no row at ${along}`);
        for (const curve of data.curves) {
            const value = curve.y[row];
            if (value === null) continue;
            const shown = `${curve.name} ${Number(value.toPrecision(4))} dB`;
            check(readout.textContent.includes(shown), `'${shown}' is not in '${readout.textContent}'`);
        }
        // Linked pictures show the same frequency.
        const other = figures[1].querySelector("output").textContent;
        check(other.split(":")[0] === readout.textContent.split(":")[0], `'${other}' is not linked`);
    }

    // The picture of noise says whose it is too, and what it says follows.
    const noise = figures[2].querySelector("output").textContent;
    check(/ nV\/√Hz.*, knob 100 %: [0-9.]+ nV\/√Hz at the input — R[45] 3[0-9] %, R[45] 3[0-9] %, /.test(noise),
        `'${noise}' tells no parts`);

    // A knob position goes off in every picture of the assembly, and on again.
    const first = figures[0].querySelector("input[type='checkbox']");
    first.click();
    check(graph.visibility()[0] === false, "the first curve is still there");
    check(figures[1].querySelector("input[type='checkbox']").checked === false, "not off elsewhere");
    first.click();
    check(graph.visibility()[0] === true, "the first curve did not come back");

    // Zoom by keyboard, and back.
    const whole = graph.xAxisRange();
    const key = name => plot.dispatchEvent(new KeyboardEvent("keydown", { key: name, bubbles: true }));
    key("+");
    const near = graph.xAxisRange();
    check(near[1] / near[0] < 0.7 * whole[1] / whole[0], `no zoom: ${near}`);
    key("0");
    check(Math.abs(graph.xAxisRange()[1] / whole[1] - 1) < 1e-6, "no way back from the zoom");
    key("Home");
    check(Number(plot.dataset.row) === 0, "Home is not the first frequency");
    key("ArrowRight");
    check(Number(plot.dataset.row) === 1, "an arrow does not move the crosshair");

    // Folded assemblies come to life when they are opened.
    const folded = document.querySelector("section > details:not([open]):has(.assembly)");
    if (folded) {
        folded.open = true;
        folded.dispatchEvent(new Event("toggle"));
        check(folded.querySelector("figure .plot").graph !== undefined, "a folded picture stays dead");
    }
    check(performance.getEntriesByType("resource").length === 0, "something was requested");
    check(troubles.length === 0, `errors: ${troubles.join("; ")}`);
    const result = document.createElement("pre");
    result.id = "result";
    result.textContent = wrong.length === 0 ? "passed" : wrong.join("\n");
    document.body.prepend(result);
})();
