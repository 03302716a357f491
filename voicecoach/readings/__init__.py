"""Words to a recorded value, and a value to a judgement with its arithmetic."""
