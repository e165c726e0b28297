"""What no schedule can beat: packing duals, time windows, per-window bounds, the time-indexed relaxation."""
