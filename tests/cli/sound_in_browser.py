#!/usr/bin/env python3
"""sound_in_browser.py PAGE FOLDER: plays every sound of a page in Chromium, and prints what it says.

The browser's own clock runs, since sound does not play in virtual time, and its answer comes by a request
to a server that lives as long as this script."""
import http.server
import pathlib
import subprocess
import sys
import threading
import urllib.parse

LONGEST_S = 60
SCRIPT = """<script>
const sounds = [...document.querySelectorAll("audio")];
const played = sounds.map(sound => new Promise((done, failed) => {
    sound.addEventListener("error", () => failed(new Error(`not decoded: ${sound.error.message}`)));
    sound.addEventListener("ended", () => done(sound.duration));
    sound.play().catch(failed);
}));
const tell = text => { new Image().src = `http://127.0.0.1:PORT/${encodeURIComponent(text)}`; };
Promise.all(played).then(s => tell(`played ${s.map(t => t.toFixed(2)).join(" and ")} s`), e => tell(String(e)));
</script></body></html>
"""
answers = []
answered = threading.Event()


class Answer(http.server.BaseHTTPRequestHandler):
    def do_GET(self):
        self.send_response(204)
        self.end_headers()
        answers.append(urllib.parse.unquote(self.path[1:]))
        answered.set()

    def log_message(self, *_):
        pass


page, folder = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
server = http.server.HTTPServer(("127.0.0.1", 0), Answer)
threading.Thread(target=server.serve_forever, daemon=True).start()
used = folder / "played.html"
used.write_text(page.read_text().split("</body>")[0] + SCRIPT.replace("PORT", str(server.server_port)))
browser = subprocess.Popen(
    ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--mute-audio",
     "--autoplay-policy=no-user-gesture-required", f"--user-data-dir={folder}/sound-profile", used.as_uri()],
    stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
answered.wait(LONGEST_S)
browser.terminate()
browser.wait()
print(answers[0] if answers else f"no answer in {LONGEST_S} s")
