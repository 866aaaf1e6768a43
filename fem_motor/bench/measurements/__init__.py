"""What a log measured: its segments, steady points, constants, and what changes say."""
