import { createCanvas, loadImage } from 'canvas';

/** Pixels a side of a block: large enough that letters drawn a fraction of a pixel aside make no difference. */
const BLOCK = 8;

/** Mean red, green and blue of each block of a PNG, row by row. */
export interface Blocks {
  readonly width: number;
  readonly height: number;
  readonly colors: readonly (readonly [number, number, number])[];
}

export async function blocksOf(png: Buffer): Promise<Blocks> {
  const image = await loadImage(png);
  const [width, height] = [Math.floor(image.width / BLOCK), Math.floor(image.height / BLOCK)];
  const context = createCanvas(image.width, image.height).getContext('2d');
  context.drawImage(image, 0, 0);
  const { data } = context.getImageData(0, 0, image.width, image.height);
  const colors = Array.from({ length: width * height }, (_, block): [number, number, number] => {
    const sums: [number, number, number] = [0, 0, 0];
    const [left, top] = [(block % width) * BLOCK, Math.floor(block / width) * BLOCK];
    for (let y = top; y < top + BLOCK; y++)
      for (let x = left; x < left + BLOCK; x++)
        for (let channel = 0; channel < 3; channel++) sums[channel]! += data[4 * (y * image.width + x) + channel]!;
    return [sums[0] / BLOCK ** 2, sums[1] / BLOCK ** 2, sums[2] / BLOCK ** 2];
  });
  return { width, height, colors };
}

/** The largest difference, 0 to 255, of two pictures in any block and color; infinite where their sizes differ. */
export function largestDifference(first: Blocks, second: Blocks): number {
  if (first.width !== second.width || first.height !== second.height) return Number.POSITIVE_INFINITY;
  return Math.max(
    ...first.colors.map((color, at) => Math.max(...color.map((value, k) => Math.abs(value - second.colors[at]![k]!)))),
  );
}

/** Whether a picture is of one color. */
export function isBlank({ colors }: Blocks): boolean {
  return colors.every((color) => color.every((value, k) => Math.abs(value - colors[0]![k]!) < 2));
}
