"""What currents do: loaded torque, inductances, waveforms, loops that close by themselves."""
