"""From stress to verdict: failure modes, grain-line means, hot spots, the hand calculation."""
