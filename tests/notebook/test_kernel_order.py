"""A kernel hands on what a reader does in the order in which it was done."""

import time

from jupyter_client.manager import start_new_kernel

FORM = """
import time
import ipywidgets as w
box, button, reply, heard = w.Text(), w.Button(), w.HTML(), []

def press(_):
    heard.append(box.value)
    reply.value = box.value
    time.sleep(0.02)

button.on_click(press)
print(box.comm.comm_id, button.comm.comm_id)
"""
PRESSES = 16


def test_a_button_pressed_after_typing_finds_what_was_typed():
    manager, client = start_new_kernel()
    try:

        def told(code: str) -> str:
            said: list[str] = []
            client.execute_interactive(
                code, timeout=60, output_hook=lambda m: said.append(m["content"].get("text", ""))
            )
            return "".join(said)

        box, button = told(FORM).split()
        client.kernel_info()
        about = client.get_shell_msg(timeout=60)["content"]
        thread = None
        if "kernel subshells" in about.get("supported_features", ()):
            client.control_channel.send(client.session.msg("create_subshell_request", {}))
            thread = client.control_channel.get_msg(timeout=60)["content"]["subshell_id"]

        def send(comm, data):
            message = client.session.msg("comm_msg", {"comm_id": comm, "data": data})
            if thread is not None:  # JupyterLab sends what widgets say to a thread of their own
                message["header"]["subshell_id"] = thread
            client.shell_channel.send(message)

        for k in range(PRESSES):
            send(box, {"method": "update", "state": {"value": str(k)}, "buffer_paths": []})
            send(button, {"method": "custom", "content": {"event": "click"}})
            time.sleep(0.01)
        until = time.monotonic() + 60
        while len(heard := told("print(*heard)").split()) < PRESSES and time.monotonic() < until:
            time.sleep(0.05)
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    assert heard == [str(k) for k in range(PRESSES)]
