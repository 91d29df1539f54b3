// Draws the card larger and smaller with the slider.
const slide = document.getElementById("percent");
const card = document.getElementById("card");
slide.addEventListener("input", () => {
  card.setAttribute("width", (slide.dataset.short * slide.value) / 100 + "mm");
  card.setAttribute("height", (slide.dataset.long * slide.value) / 100 + "mm");
});
