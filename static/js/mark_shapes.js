// The shapes of marks as SVG, as inspections/drawings/marks.py draws them. Pure: no page, no state.
const INK = "#16242c";
const FONT = "Atkinson, 'Atkinson Hyperlegible Next', sans-serif";
const [LETTER, STROKE, HALO, TICK, BARB, LETTERS, PAD] = [0.56, 7, 15, 18, 46, 40, 12];
const BARB_ANGLE = (27 * Math.PI) / 180;

const ends = (mark, width, height) => {
  const start = [mark.x1 * width, mark.y1 * height];
  return [start, "x2" in mark ? [mark.x2 * width, mark.y2 * height] : start];
};
// Where a plate may stand beside its place, in its own widths and heights: the nearest first.
const AROUND = [[0, 0], [0, 1], [0, -1], [1, 0], [-1, 0], [0, 2], [0, -2], [1, 1], [-1, 1], [1, -1], [-1, -1], [0, 3], [0, -3], [1, 2], [-1, 2], [1, -2], [-1, -2], [2, 0], [-2, 0]];

const polyline = (...points) => `M${points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}`;
const direction = (start, end) => Math.atan2(end[1] - start[1], end[0] - start[0]);

const ellipse = (one, other) => {
  const [rx, ry] = [Math.abs(other[0] - one[0]) / 2, Math.abs(other[1] - one[1]) / 2];
  const [left, y] = [Math.min(one[0], other[0]), (one[1] + other[1]) / 2];
  const arc = `A${rx.toFixed(1)} ${ry.toFixed(1)} 0 1 1`;
  return `M${left.toFixed(1)} ${y.toFixed(1)}${arc} ${(left + 2 * rx).toFixed(1)} ${y.toFixed(1)}${arc} ${left.toFixed(1)} ${y.toFixed(1)}Z`;
};
const barbs = (start, end, weight) => {
  const angle = direction(start, end), length = BARB * weight;
  const side = (turn) => [end[0] - length * Math.cos(angle + turn), end[1] - length * Math.sin(angle + turn)];
  return polyline(side(BARB_ANGLE), end, side(-BARB_ANGLE));
};
const tick = (start, end, at, weight) => {
  const angle = direction(start, end) + Math.PI / 2, half = TICK * weight;
  const [dx, dy] = [half * Math.cos(angle), half * Math.sin(angle)];
  return polyline([at[0] - dx, at[1] - dy], [at[0] + dx, at[1] + dy]);
};

export const shape = (mark, width, height, weight = 1) => {
  if (mark.kind === "text") return "";
  const [start, end] = ends(mark, width, height);
  const outline = mark.kind === "circle" ? ellipse(start, end)
    : mark.kind === "arrow" ? polyline(start, end) + barbs(start, end, weight)
      : polyline(start, end) + tick(start, end, start, weight) + tick(start, end, end, weight);
  const joined = `d="${outline}" fill="none" stroke-linecap="round" stroke-linejoin="round"`;
  return `<path ${joined} stroke="#ffffff" stroke-width="${HALO * weight}"/><path ${joined} stroke="${INK}" stroke-width="${STROKE * weight}"/>`;
};

const wrapped = (text, most) => {
  const lines = [];
  let line = "";
  for (const word of text.split(" ")) {
    if (line && line.length + 1 + word.length > most) {
      lines.push(line);
      line = word;
    } else line = line ? `${line} ${word}` : word;
  }
  return [...lines, line];
};
const centre = (mark, width, height, plateWidth, plateHeight, weight) => {
  const [start, end] = ends(mark, width, height);
  const middle = (start[0] + end[0]) / 2;
  if (mark.kind === "circle") return [middle, Math.max(start[1], end[1]) + plateHeight / 2 + HALO * weight];
  if (mark.kind !== "line") return start;
  const isAcross = Math.hypot(end[0] - start[0], end[1] - start[1]) > plateWidth + 4 * TICK * weight;
  return [middle, (start[1] + end[1]) / 2 + (isAcross ? 0 : plateHeight / 2 + 1.5 * TICK * weight)];
};
const escaped = (text) => text.replace(/[&<>"']/g, (letter) => `&#${letter.charCodeAt(0)};`);
const between = (value, least, most) => Math.min(Math.max(value, least), most);

// Boxes are [x, y, width, height] with x and y in the middle.
const within = ([x, y, w, h], width, height) => [between(x, w / 2, width - w / 2), between(y, h / 2, height - h / 2), w, h];
const covered = (one, other) => Math.max(0, (one[2] + other[2]) / 2 - Math.abs(one[0] - other[0])) * Math.max(0, (one[3] + other[3]) / 2 - Math.abs(one[1] - other[1]));

const wantedBox = (mark, lines, width, height, weight) => {
  const letters = LETTERS * weight, pad = PAD * weight;
  const w = Math.min(Math.max(...lines.map((line) => line.length)) * LETTER * letters + 2 * pad, width);
  const h = lines.length * letters * 1.2 + pad;
  return within([...centre(mark, width, height, w, h, weight), w, h], width, height);
};
const freeBox = (wanted, placed, width, height, weight) => {
  const [x, y, w, h] = wanted;
  let best = wanted, least = Infinity;
  for (const [across, down] of AROUND) {
    const box = within([x + across * (w + PAD * weight), y + down * (h + PAD * weight), w, h], width, height);
    const hidden = placed.reduce((sum, other) => sum + covered(box, other), 0);
    if (hidden < least) [best, least] = [box, hidden];
  }
  return best;
};
const leader = (wanted, box, weight) => {
  const line = `d="${polyline(wanted, box)}" fill="none"`;
  return `<path ${line} stroke="#ffffff" stroke-width="${STROKE * weight}"/><path ${line} stroke="${INK}" stroke-width="${2 * weight}"/>`;
};
const plate = (lines, [x, y, w, h], weight) => {
  const letters = LETTERS * weight;
  const top = y - h / 2;
  const text = lines.map((line, place) => `<text x="${x.toFixed(1)}" y="${(top + (PAD * weight) / 2 + (place + 0.8) * letters * 1.2).toFixed(1)}" fill="${INK}" font-family="${FONT}" font-size="${letters}" font-weight="600" text-anchor="middle">${escaped(line)}</text>`).join("");
  return `<rect x="${(x - w / 2).toFixed(1)}" y="${top.toFixed(1)}" width="${w.toFixed(1)}" height="${h.toFixed(1)}" fill="#ffffff" stroke="${INK}" stroke-width="${2 * weight}"/>${text}`;
};

// The words of all marks, each on its plate. One that would cover another gives way, and a line leads back.
export const plates = (marks, width, height, weight = 1) => {
  const placed = [];
  return marks.filter((mark) => mark.text).map((mark) => {
    const lines = wrapped(mark.text, Math.max(8, Math.trunc((0.8 * width) / (LETTER * LETTERS * weight))));
    const wanted = wantedBox(mark, lines, width, height, weight);
    const box = freeBox(wanted, placed, width, height, weight);
    placed.push(box);
    const isMoved = box[0] !== wanted[0] || box[1] !== wanted[1];
    return (isMoved ? leader(wanted, box, weight) : "") + plate(lines, box, weight);
  }).join("");
};
