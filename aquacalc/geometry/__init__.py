"""The plan in space: ways of pipes, joints, holes, strainers; where everything lies and what touches what."""
