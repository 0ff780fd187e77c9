"""From a shot to what the engine and the judgement work on."""
