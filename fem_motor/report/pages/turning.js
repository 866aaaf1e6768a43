"use strict";
for (const figure of document.querySelectorAll("figure.turning")) {
  const [slider, button, field, mark] = [".control input", ".control button", ".field", ".mark"]
    .map((part) => figure.querySelector(part));
  const steps = JSON.parse(figure.dataset.steps);
  const shown = figure.querySelector("output");
  let turning = 0;
  const show = () => {
    const [rotor, turned] = steps[slider.value];
    field.setAttribute("transform", `rotate(${-turned} 50 50)`);
    mark.setAttribute("transform", `rotate(${-rotor} 50 50)`);
    shown.value = `${rotor.toFixed(2).replace(/\.?0+$/, "")}°`;
    slider.setAttribute("aria-valuetext", `rotor angle ${shown.value}`);
  };
  const stop = () => {
    clearInterval(turning);
    turning = 0;
    button.textContent = "Turn";
  };
  slider.addEventListener("input", () => { stop(); show(); });
  button.addEventListener("click", () => {
    if (turning) { stop(); return; }
    button.textContent = "Stop";
    turning = setInterval(() => {
      slider.value = (Number(slider.value) + 1) % steps.length;
      show();
    }, 350);
  });
  // Nothing moves by itself; who asks the system for less motion gets the slider alone.
  button.hidden = matchMedia("(prefers-reduced-motion: reduce)").matches;
  figure.querySelector(".control").hidden = false;
  show();
}
