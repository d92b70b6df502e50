// Draws every example chart as PNG, light, dark and gray, into a folder that is not committed, for people to look at.
// node tests/charts/render-gallery.mjs [name …]
import { mkdirSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { createCanvas, loadImage } from 'canvas';
import { createServer } from 'vite';

const folder = fileURLToPath(new URL('../../reports/gallery/', import.meta.url));
mkdirSync(folder, { recursive: true });
const server = await createServer({
  root: fileURLToPath(new URL('../..', import.meta.url)),
  configFile: false,
  server: { middlewareMode: true, watch: null, hmr: false, ws: false },
  logLevel: 'error',
});
try {
  const { examples } = await server.ssrLoadModule('/tests/charts/examples.ts');
  const { renderPng, renderSvg } = await server.ssrLoadModule('/src/charts/render.ts');
  const wanted = process.argv.slice(2);
  for (const [name, draw] of Object.entries(examples)) {
    if (wanted.length > 0 && !wanted.includes(name)) continue;
    const light = await renderPng(draw(), 1.25);
    writeFileSync(`${folder}${name}.png`, light);
    writeFileSync(`${folder}${name}-gray.png`, await inGray(light));
    writeFileSync(`${folder}${name}-dark.png`, await renderPng(draw({ theme: 'dark' }), 1.25));
    writeFileSync(`${folder}${name}.svg`, await renderSvg(draw()));
    process.stdout.write(`${name}\n`);
  }
} finally {
  await server.close();
}

/** As a printer without color gives it. */
async function inGray(png) {
  const image = await loadImage(png);
  const canvas = createCanvas(image.width, image.height);
  const context = canvas.getContext('2d');
  context.filter = 'grayscale(1)';
  context.drawImage(image, 0, 0);
  return canvas.toBuffer('image/png');
}
