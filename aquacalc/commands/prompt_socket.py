"""The server's connection to a kernel, with every message sent at once.

A slider's answer is several short messages. TCP holds a short message back until
the one before is acknowledged, and an acknowledgement may take 40 ms: a slider
that is moved again and again then answers that much later.
"""

from __future__ import annotations

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection


class PromptConnection(ZMQChannelsWebsocketConnection):
    """The connection that the server makes by itself, but nothing is held back."""

    async def connect(self):
        """Open the connection."""
        self.websocket_handler.set_nodelay(True)
        return await super().connect()
