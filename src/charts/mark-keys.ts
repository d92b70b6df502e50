/**
 * A script for a page of pictures, in plain JavaScript without anything from elsewhere: each `figure` that holds a picture of this
 * library can be reached with Tab, and the arrow keys, Home and End go along its marks. The mark has a ring, and what it says stands
 * under the picture and is spoken. It serves pictures as they are written by `renderSvg` and pictures that a script draws anew. In a
 * page without it nothing is lost but the keys.
 *
 * @example `<figure>${await renderSvg(chart)}</figure> … <script>${MARK_KEYS}</script>`
 */
export const MARK_KEYS = `(() => {
  const STEPS = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1, Home: -Infinity, End: Infinity };
  const ring = document.createElement('div');
  ring.style.cssText = 'position:absolute;pointer-events:none;border:2px solid #b03a5b;border-radius:4px;display:none';
  document.body.append(ring);
  const marksOf = (figure) => {
    const said = new Set();
    return [...figure.querySelectorAll('svg .role-mark [role="graphics-symbol"][aria-label]')].filter((mark) => {
      const words = mark.getAttribute('aria-label');
      if (mark.getClientRects().length === 0 || said.has(words)) return false;
      said.add(words);
      return true;
    });
  };
  for (const figure of document.querySelectorAll('figure')) {
    if (marksOf(figure).length === 0) continue;
    const status = document.createElement('p');
    status.setAttribute('role', 'status');
    status.style.cssText = 'margin:0;min-height:1.5em';
    let at = -1;
    figure.tabIndex = 0;
    figure.setAttribute('role', 'group');
    figure.setAttribute('aria-description', 'The arrow keys read the marks one by one.');
    figure.append(status);
    const leave = () => {
      at = -1;
      status.textContent = '';
      ring.style.display = 'none';
    };
    figure.addEventListener('blur', leave);
    figure.addEventListener('keydown', (event) => {
      if (event.target !== figure || event.ctrlKey || event.metaKey || event.altKey) return;
      if (event.key === 'Escape') return leave();
      const step = STEPS[event.key];
      const marks = marksOf(figure);
      if (step === undefined || marks.length === 0) return;
      event.preventDefault();
      at = Math.max(0, Math.min(marks.length - 1, at + step));
      status.textContent = marks[at].getAttribute('aria-label');
      const { left, top, width, height } = marks[at].getBoundingClientRect();
      ring.style.display = 'block';
      ring.style.left = left + scrollX - 5 + 'px';
      ring.style.top = top + scrollY - 5 + 'px';
      ring.style.width = width + 6 + 'px';
      ring.style.height = height + 6 + 'px';
    });
  }
})();`;
