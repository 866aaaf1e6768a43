"""What is mended on a log before it is used: clock, spikes and holes, zeros."""
