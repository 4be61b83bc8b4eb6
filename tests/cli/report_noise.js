// Whose noise it is, at the pointer, by keyboard and at a finger. Resistors in series have noise as their
// resistances, 4 k T R (Nyquist, "Thermal agitation of electric charge in conductors", Phys. Rev. 32, 1928),
// at 20 degrees Celsius; of a divider of 1 kΩ and 3 kΩ the former has three quarters.
"use strict";
(() => {
    const wrong = [];
    const check = (truth, text) => { if (!truth) wrong.push(text); };
    const expectText = (found, wanted) => check(found === wanted, `'${found}' is not '${wanted}'`);
    const figure = (assembly, title) => [...assembly.querySelectorAll("figure")]
        .find(f => f.querySelector("figcaption").textContent === title);
    const [divider, series] = document.querySelectorAll(".assembly");
    const read = (assembly, title) => [...figure(assembly, title).querySelectorAll("output span")].map(s => s.textContent);
    const key = (plot, name) => plot.dispatchEvent(new KeyboardEvent("keydown", { key: name, bubbles: true }));

    // sqrt(4 k T 1333 ohm) = 4.646 nV: 750 ohm behind a gain of 3/4.
    const whole = "1 kHz: 4.646 nV/√Hz at the input — <b> 45 %, __proto__ 25 %, R2 19 %, others 11 %";
    const parts = figure(divider, "Noise by part").querySelector(".plot");
    key(parts, "Home");
    for (let step = 0; step < 40; ++step) key(parts, "ArrowRight");
    expectText(read(divider, "Noise by part").join("|"), whole);
    expectText(read(divider, "Noise referred to the input").join("|"), `1 kHz: value 4.646 nV/√Hz|${whole}`);
    check(document.querySelector("output b") === null, "a name is markup");

    // The pointer, and a finger, where 1 kHz is; a finger leaves the picture where it is.
    const noise = figure(divider, "Noise referred to the input").querySelector(".plot");
    const box = noise.getBoundingClientRect();
    const area = noise.graph.getArea();
    const [from, to] = noise.graph.xAxisRange();
    const along = Math.log(1000 / from) / Math.log(to / from);
    const at = { clientX: box.left + area.x + along * area.w, clientY: box.top + box.height / 2 };
    const canvas = noise.querySelectorAll("canvas")[1];
    key(noise, "Home");
    canvas.dispatchEvent(new MouseEvent("mousemove", { bubbles: true, view: window, ...at }));
    expectText(read(divider, "Noise by part").join("|"), whole);
    for (const kind of ["touchstart", "touchmove"]) {
        key(noise, "Home");
        const touch = new Touch({ identifier: 1, target: canvas, pageX: at.clientX, pageY: at.clientY, ...at });
        canvas.dispatchEvent(new TouchEvent(kind, { bubbles: true, cancelable: true, touches: [touch] }));
        expectText(read(divider, "Noise by part").join("|"), whole);
    }
    check(Math.abs(noise.graph.xAxisRange()[0] / 10 - 1) < 1e-3, "a finger moves the curves");

    // R9 is not among the seven largest of the band, but 89 % of the noise at 10 Hz.
    const fold = series.closest("details");
    fold.open = true;
    fold.dispatchEvent(new Event("toggle"));
    key(figure(series, "Noise by part").querySelector(".plot"), "Home");
    const low = read(series, "Noise by part").join("|");
    check(low.endsWith(" nV/√Hz at the input — R9 89 %, R2 2 %, R5 2 %, others 7 %"), `at 10 Hz: '${low}'`);

    check(document.documentElement.scrollWidth <= innerWidth, "the page is wider than the window");
    check(troubles.length === 0, `errors: ${troubles.join("; ")}`);
    const result = document.createElement("pre");
    result.id = "result";
    result.textContent = wrong.length === 0 ? "passed" : wrong.join("\n");
    document.body.prepend(result);
})();
