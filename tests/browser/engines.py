"""Three browsers that open the page from a file, each with a profile of its own and no network.

Chromium and WebKit are driven through WebDriver, Firefox through the WebDriver BiDi that it speaks itself. What they
ask of the network goes to a proxy of this test that answers nothing and keeps what it was asked.
"""

from __future__ import annotations

import base64
import json
import os
import re
import shutil
import socket
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import websocket
from selenium import webdriver
from selenium.webdriver import ActionChains
from selenium.webdriver.common.keys import Keys

#: An address that belongs to nobody. Source: RFC 5737, TEST-NET-1.
NOWHERE = "http://192.0.2.1/"
AXE = Path(__file__).with_name("axe.min.js")
MINI_BROWSER = next(iter(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser")), Path("/none"))
#: What is saved is noted by name, in engines that save to no folder of ours.
NOTE_SAVED = """window.saved = {}; const made = new Map(), make = URL.createObjectURL;
URL.createObjectURL = (blob) => { const url = make(blob); made.set(url, blob); return url; };
HTMLAnchorElement.prototype.click = function () { window.saved[this.download] = made.get(this.href); };"""
FETCH = """const bytes = new Uint8Array(await window.saved[args[0]].arrayBuffer());
return btoa(Array.from(bytes, (one) => String.fromCharCode(one)).join(""));"""
DROP = """const data = new DataTransfer();
data.items.add(new File([Uint8Array.from(atob(args[1]), (one) => one.charCodeAt(0))], args[0]));
window.dispatchEvent(new DragEvent("drop", { dataTransfer: data, cancelable: true }));"""


class Sink:
    """A proxy that answers nothing, and counts what is asked of NOWHERE: browsers also ask things of their own."""

    def __init__(self) -> None:
        self.asked = 0
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.port = self._socket.getsockname()[1]
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        while True:
            try:
                there, _ = self._socket.accept()
                there.settimeout(2)
                self.asked += NOWHERE.encode() in there.recv(500)
                there.close()
            except TimeoutError:
                there.close()
            except OSError:
                return

    def close(self) -> None:
        self._socket.close()


class Browser:
    """What all three can do; ``run`` is a script's body as an async function of ``args``."""

    behind_proxy = True

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)
        self.sink = Sink()

    def go(self, address: str) -> None:
        raise NotImplementedError

    def run(self, text: str, *arguments: Any) -> Any:
        raise NotImplementedError

    def keys(self, *words: str) -> None:
        raise NotImplementedError

    def quit(self) -> None:
        self.sink.close()

    def open(self, page: Path) -> None:
        """Open a page and wait until its Python has answered."""
        self.go(page.as_uri())
        self.ready()

    def ready(self) -> None:
        self.until(lambda: self.run("return document.documentElement.dataset.ready"), 100)

    def until(self, wanted: Callable[[], Any], seconds: float = 60) -> Any:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if found := wanted():
                return found
            time.sleep(0.05)
        raise AssertionError(f"not within {seconds} s; the page says: {self.text()[:1500]}")

    def text(self) -> str:
        return str(self.run("return document.body.innerText"))

    def says(self, words: str) -> None:
        """Wait until the page says something, in a record that stands in it too."""
        look = """return document.body.innerText.includes(args[0]) || [...document.querySelectorAll(".page")]
            .some((one) => one.shadowRoot.querySelector(".body").innerText.includes(args[0]));"""
        self.until(lambda: self.run(look, words))

    def there(self, selector: str) -> None:
        self.until(lambda: self.run("return Boolean(document.querySelector(args[0]))", selector))

    def click(self, selector: str) -> None:
        self.there(selector)
        self.run("document.querySelector(args[0]).click()", selector)

    def press(self, words: str) -> None:
        """Click the button that says something."""
        find = "return [...document.querySelectorAll('button')].find((one) => one.innerText.trim() === args[0])"
        self.until(lambda: self.run(f"{find} !== undefined", words))
        self.run(f"({find.removeprefix('return ')}).click()", words)

    def type(self, selector: str, words: str) -> None:
        """Put words into a box with the keyboard, in place of what stands there, and leave it."""
        self.there(selector)
        self.run("const one = document.querySelector(args[0]); one.focus(); one.select();", selector)
        self.keys(words, Keys.TAB)

    def value(self, selector: str) -> str:
        self.there(selector)
        return str(self.run("return document.querySelector(args[0]).value", selector))

    def choose(self, selector: str, value: str) -> None:
        self.there(selector)
        self.run("const one = document.querySelector(args[0]); one.value = args[1];"
                 "one.dispatchEvent(new Event('change', {bubbles: true}))", selector, value)  # fmt: skip

    def drop(self, name: str, data: bytes) -> None:
        self.run(DROP, name, base64.b64encode(data).decode())

    def note_saved(self) -> None:
        self.run(NOTE_SAVED)

    def saved(self, name: str) -> bytes:
        """Return what was saved, in a page that notes it."""
        self.until(lambda: self.run("return args[0] in window.saved", name))
        return base64.b64decode(self.run(FETCH, name))

    def asks_nothing(self) -> None:
        """Hold that page and worker may reach nothing, though another page of this browser asks the proxy at once."""
        ask = f"fetch('{NOWHERE}', {{mode: 'no-cors'}}).then(() => 'went', () => 'refused')"
        worker = f"new Worker(`data:text/javascript,{ask}.then(postMessage)`, {{type: 'module'}})"
        assert self.run(f"return await {ask}") == "refused"
        assert self.run(f"return new Promise((d) => {{ {worker}.onmessage = (e) => d(e.data) }})") == "refused"
        names = self.run("return performance.getEntriesByType('resource').map((one) => one.name)")
        assert [name for name in names if not name.startswith(("data:", "blob:"))] == []
        assert self.sink.asked == 0
        if self.behind_proxy:
            self.go("about:blank")
            self.run(f"return await {ask}")
            assert self.sink.asked > 0

    def axe(self) -> list[str]:
        """Return what axe finds against the page as it stands."""
        if not self.run("return 'axe' in window"):
            self.run(AXE.read_text("utf-8") + ";window.axe = axe;")
        return list(self.run(
            "return (await axe.run(document)).violations.map((v) => v.id + ': ' + "
            "v.nodes.map((n) => n.target + ' ' + n.html.slice(0, 120)).slice(0, 3).join(' | '))"))  # fmt: skip


class _Driven(Browser):
    """A browser behind selenium."""

    driver: Any

    def go(self, address: str) -> None:
        self.driver.get(address)

    def run(self, text: str, *arguments: Any) -> Any:
        found = self.driver.execute_async_script(
            f"const args = [...arguments], done = args.pop(); (async () => {{ {text} }})()"
            ".then((answer) => done([answer ?? null]), (fault) => done({fault: String(fault)}));",
            *arguments,
        )
        if isinstance(found, dict):
            raise AssertionError(found["fault"])
        return found[0]

    def keys(self, *words: str) -> None:
        ActionChains(self.driver, duration=0).send_keys(*words).perform()

    def chord(self, held: str, key: str) -> None:
        ActionChains(self.driver, duration=0).key_down(held).send_keys(key).key_up(held).perform()

    def quit(self) -> None:
        self.driver.quit()
        super().quit()


class Chromium(_Driven):
    """Chromium; what it saves lies in the folder."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        options = webdriver.ChromeOptions()
        options.binary_location = shutil.which("chromium") or ""
        for flag in (
            "headless=new", "no-sandbox", "disable-gpu", "disable-dev-shm-usage", "no-first-run", "disable-sync",
            "disable-background-networking", "disable-component-update", "window-size=1280,900",
            f"user-data-dir={folder / 'profile'}", f"proxy-server=127.0.0.1:{self.sink.port}",
            "proxy-bypass-list=<-loopback>", "disable-features=OptimizationHints,MediaRouter,Translate",
        ):  # fmt: skip
            options.add_argument(f"--{flag}")
        options.add_experimental_option("prefs", {
            "download.default_directory": str(folder), "profile.default_content_setting_values.automatic_downloads": 1,
        })  # fmt: skip
        options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
        self.driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
        self.driver.set_script_timeout(60)

    def download(self, name: str) -> bytes:
        """Return a file that the builder saved."""
        path = self.folder / name
        self.until(lambda: path.exists() and path.stat().st_size)
        data = path.read_bytes()
        path.unlink()
        return data

    def media(self, **features: str) -> None:
        pairs = [{"name": name.replace("_", "-"), "value": value} for name, value in features.items()]
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": pairs})

    def size(self, width: int, height: int = 900) -> None:
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)

    def complaints(self) -> list[str]:
        """What the browser put on its console, faults of the content policy among it."""
        return [one["message"] for one in self.driver.get_log("browser") if one["level"] == "SEVERE"]


class WebKit(_Driven):
    """WebKit's own small browser, on a screen of its own; it takes no proxy from its driver."""

    behind_proxy = False

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        reading, writing = os.pipe()
        self._screen = subprocess.Popen(
            ["Xvfb", "-displayfd", str(writing), "-screen", "0", "1280x1000x24"], pass_fds=[writing],
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(writing)
        with os.fdopen(reading) as said:
            display = said.readline().strip()
        options = webdriver.WebKitGTKOptions()
        options.binary_location = str(MINI_BROWSER)
        options.add_argument("--automation")
        service = webdriver.WebKitGTKService(
            shutil.which("WebKitWebDriver") or "", env={**os.environ, "DISPLAY": f":{display}"}
        )
        self.driver = webdriver.WebKitGTK(options=options, service=service)
        self.driver.set_script_timeout(60)

    def quit(self) -> None:
        super().quit()
        self._screen.terminate()
        self._screen.wait()


class Firefox(Browser):
    """Firefox, spoken to over its own socket."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        profile = folder / "profile"
        profile.mkdir(parents=True)
        settings: dict[str, Any] = {"network.proxy.type": 1}
        for kind in ("http", "ssl"):
            settings |= {f"network.proxy.{kind}": "127.0.0.1", f"network.proxy.{kind}_port": self.sink.port}
        lines = [f"user_pref({json.dumps(key)}, {json.dumps(value)});\n" for key, value in settings.items()]
        (profile / "user.js").write_text("".join(lines))
        self._process = subprocess.Popen(
            ["firefox-esr", "--headless", "--profile", profile, "--remote-debugging-port", "0", "about:blank"],
            stderr=subprocess.PIPE, text=True, env={**os.environ, "HOME": str(folder), "MOZ_HEADLESS_WIDTH": "1280"},
        )  # fmt: skip
        assert self._process.stderr is not None
        listening = (re.search(r"BiDi listening on (ws://\S+)", line) for line in self._process.stderr)
        address = next(found[1] for found in listening if found)
        self._said = threading.Thread(target=self._process.stderr.read, daemon=True)
        self._said.start()
        self._socket = websocket.create_connection(f"{address}/session", suppress_origin=True, timeout=90)
        self._count = 0
        self._say("session.new", capabilities={})
        self._context = self._say("browsingContext.getTree")["contexts"][0]["context"]

    def _say(self, method: str, **given: Any) -> dict[str, Any]:
        self._count += 1
        self._socket.send(json.dumps({"id": self._count, "method": method, "params": given}))
        while True:
            answer = json.loads(self._socket.recv())
            if answer.get("id") == self._count:
                assert answer["type"] == "success", answer
                return dict(answer["result"])

    def go(self, address: str) -> None:
        self._say("browsingContext.navigate", context=self._context, url=address, wait="complete")

    def run(self, text: str, *arguments: Any) -> Any:
        body = f"async () => {{ {text} }}"
        answer = f"JSON.stringify(await ({body})() ?? null)"
        function = f"async (given) => {{ const args = JSON.parse(given); return {answer} }}"
        found = self._say("script.callFunction", functionDeclaration=function, awaitPromise=True,
                          target={"context": self._context},
                          arguments=[{"type": "string", "value": json.dumps(arguments)}])  # fmt: skip
        assert found["type"] == "success", found
        return json.loads(found["result"]["value"])

    def keys(self, *words: str) -> None:
        actions = [{"type": kind, "value": letter} for letter in "".join(words) for kind in ("keyDown", "keyUp")]
        self._say("input.performActions", context=self._context,
                  actions=[{"type": "key", "id": "keys", "actions": actions}])  # fmt: skip

    def quit(self) -> None:
        self._socket.close()
        self._process.terminate()
        self._process.wait()
        self._said.join()
        assert self._process.stderr is not None
        self._process.stderr.close()
        super().quit()


@contextmanager
def browser(kind: type[Browser], folder: Path) -> Iterator[Any]:
    """Start a browser, and end it."""
    one = kind(folder)
    try:
        yield one
    finally:
        one.quit()
