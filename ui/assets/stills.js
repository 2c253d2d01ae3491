/** Stills of the rows: fetched as they come into sight, and not before the film itself is there, which matters more. */
import { h } from "./dom.js";

let begin;
const begun = new Promise((go) => (begin = go));

const sight = new IntersectionObserver((entries) => {
  for (const { target, isIntersecting } of entries) {
    if (!isIntersecting) continue;
    sight.unobserve(target);
    begun.then(() => (target.src = target.dataset.src));
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
 * @returns {HTMLElement}
 */
export function still(address, props) {
  const picture = h("img", { ...props, alt: "", data: { src: address } });
  sight.observe(picture);
  return picture;
}
