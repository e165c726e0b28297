"""Other ways to place services, each run in a process of its own on the same problem under the same clock."""
