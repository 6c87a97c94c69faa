"use strict";
// The picture as a file, drawn anew from the shapes of the page as it stands.
const savePicture = async (main, { pieces, reach, apart, name }) => {
  const size = 1600;
  const store = main.querySelector(".store");
  const svg = document.createElementNS(store.namespaceURI, "svg");
  const about = { width: size, height: size, viewBox: `${-reach} ${-reach} ${2 * reach} ${2 * reach}` };
  Object.entries(about).forEach(([key, value]) => svg.setAttribute(key, value));
  svg.append(...[...store.children].map((defs) => defs.cloneNode(true)));
  for (const key of main.style) svg.style.setProperty(key, main.style.getPropertyValue(key));
  pieces.sort((one, other) => one.style.zIndex - other.style.zIndex);
  for (const piece of pieces) {
    const group = document.createElementNS(svg.namespaceURI, "g");
    // The same way as on the page, whose shares are of the whole picture.
    const flat = piece.style.transform.replace(/(-?[\d.e-]+)%/g, (_, share) => `${(share * 2 * reach) / 100}px`);
    const { a, b, c, d, e, f } = new DOMMatrix(flat);
    const strength = Number(getComputedStyle(piece).getPropertyValue("--strength") || 1);
    group.setAttribute("transform", `matrix(${[a, b, c, d, e, f].join(" ")})`);
    group.setAttribute("opacity", piece.style.opacity * strength);
    const face = piece.matches("[data-shadow]") ? piece : piece.querySelector(`.${piece.dataset.side}`);
    group.append(...[...face.cloneNode(true).children].filter((child) => apart || !child.matches(".walls")));
    svg.append(group);
  }
  const picture = new Image();
  picture.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(new XMLSerializer().serializeToString(svg))}`;
  await picture.decode();
  const canvas = Object.assign(document.createElement("canvas"), { width: size, height: size });
  const context = canvas.getContext("2d");
  context.fillStyle = "#fff";
  context.fillRect(0, 0, size, size);
  context.drawImage(picture, 0, 0, size, size);
  const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
  const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(blob) });
  link.download = `${name.replace(/[^\p{L}\p{N}]+/gu, "-").slice(0, 80)}.png`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
};
