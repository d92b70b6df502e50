/** A rectangle in the units of the axes. */
export interface Rectangle {
  readonly left: number;
  readonly right: number;
  readonly bottom: number;
  readonly top: number;
}

export interface HatchLine {
  readonly x: number;
  readonly y: number;
  readonly x2: number;
  readonly y2: number;
}

/**
 * The lines that hatch a rectangle at 45 degrees, `spacing` pixels apart. Vega-Lite has no pattern
 * fill, and a gray area would read as one grade more. Lines of neighboring rectangles run on.
 */
export function hatchLines(area: Rectangle, pixelsPerX: number, pixelsPerY: number, spacing = 6): readonly HatchLine[] {
  const left = area.left * pixelsPerX;
  const right = area.right * pixelsPerX;
  const bottom = area.bottom * pixelsPerY;
  const top = area.top * pixelsPerY;
  const step = spacing * Math.SQRT2;
  const lines: HatchLine[] = [];
  for (let k = Math.ceil((bottom - right) / step); k * step <= top - left; k++) {
    const offset = k * step;
    const x = Math.max(left, bottom - offset);
    const x2 = Math.min(right, top - offset);
    if (x2 - x > 0.5)
      lines.push({
        x: x / pixelsPerX,
        y: (x + offset) / pixelsPerY,
        x2: x2 / pixelsPerX,
        y2: (x2 + offset) / pixelsPerY,
      });
  }
  return lines;
}
