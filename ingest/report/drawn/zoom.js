// Puts a chart that can be zoomed in the place of each drawn trace; without scripts, and on paper, the drawing stands.
const DASHES = ["solid", "dash", "dot", "dashdot"];
const BLACK = "#000";
const PANEL_PX = 200;

for (const [number, it] of JSON.parse(document.getElementById("traces").textContent).entries()) {
  const figure = document.querySelector(`[data-trace="${number}"]`);
  const plot = document.createElement("div");
  plot.className = "plot";
  figure.prepend(plot);
  figure.classList.add("zoomed");
  const nth = (panel) => (panel ? String(panel + 1) : "");
  const lines = it.lines.map(({ name, unit, panel, dash, x, y }) => ({
    type: "scatter",
    mode: "lines",
    name: `${name} (${unit})`,
    x,
    y,
    yaxis: `y${nth(panel)}`,
    line: { color: BLACK, width: 1.5, dash: DASHES[dash % DASHES.length] },
    connectgaps: false,
    hovertemplate: `%{y:.4~g} ${unit}`,
  }));
  const share = 1 / it.panels.length;
  const axes = it.panels.map((unit, panel) => [
    `yaxis${nth(panel)}`,
    {
      title: { text: unit },
      range: it.scales[panel], // as it is drawn: on a smaller one what instruments are off by looks like a course
      domain: [1 - (panel + 0.9) * share, 1 - panel * share],
      gridcolor: "#ccc",
      zeroline: false,
    },
  ]);
  const moments = it.moments.map((x) => ({
    type: "line",
    xref: "x",
    yref: "paper",
    x0: x,
    x1: x,
    y0: 0,
    y1: 1,
    line: { color: BLACK, width: 1, dash: "dot" },
  }));
  const numbers = it.moments.map((x, place) => ({
    x,
    xref: "x",
    y: 1,
    yref: "paper",
    yanchor: "bottom",
    text: `<b>${place + 1}</b>`,
    showarrow: false,
  }));
  const layout = {
    ...Object.fromEntries(axes),
    xaxis: { type: "date", anchor: `y${nth(it.panels.length - 1)}`, gridcolor: "#ccc" },
    shapes: moments,
    annotations: numbers,
    height: 90 + PANEL_PX * it.panels.length,
    margin: { l: 55, r: 10, t: 25, b: 30 },
    legend: { orientation: "h", y: -0.12 },
    hovermode: "x unified",
    dragmode: "zoom",
    font: { color: BLACK, family: "system-ui, sans-serif", size: 13 },
  };
  Plotly.newPlot(plot, lines, layout, {
    responsive: true,
    displaylogo: false,
    displayModeBar: false,
    scrollZoom: true,
  });
}
