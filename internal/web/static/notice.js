// The strip at the foot of the window that says what is going on.
const net = document.getElementById("net");
let fade;

function say(text, button) {
  clearTimeout(fade);
  net.replaceChildren(text);
  if (button) net.append(button);
  net.hidden = false;
}

export const notice = {
  working(stop) {
    const b = document.createElement("button");
    b.type = "button";
    b.id = "stop";
    b.textContent = net.dataset.stop;
    b.addEventListener("click", stop);
    say(net.dataset.working, b);
  },
  gone() {
    say(net.dataset.gone);
  },
  back() {
    say(net.dataset.back);
    fade = setTimeout(() => notice.hide(), 4000);
  },
  hide() {
    net.hidden = true;
    net.replaceChildren();
  },
};
