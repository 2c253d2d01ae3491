/** Stills: fetched as they come into sight; those beside a film not before the film itself is there, which matters more. */
import { h } from "./dom.js";

let begin;
const begun = new Promise((go) => (begin = go));

const sight = new IntersectionObserver((entries) => {
  for (const { target, isIntersecting } of entries) {
    if (!isIntersecting) continue;
    sight.unobserve(target);
    (target.dataset.when === "seen" ? Promise.resolve() : begun).then(() => (target.src = target.dataset.src));
  }
});

/**
 * Let the stills be fetched from now on: the film has its first frame, or cannot be had.
 */
export function letStillsCome() {
  begin();
}

/**
 * A picture that is fetched when it is seen.
 * @param {string} address
 * @param {Record<string, any>} props attributes
 * @param {"begun"|"seen"} when whether it waits for `letStillsCome`
 * @returns {HTMLElement}
 */
export function still(address, props, when = "begun") {
  const picture = h("img", { ...props, alt: "", data: { src: address, when } });
  sight.observe(picture);
  return picture;
}
