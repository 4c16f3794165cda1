"""What a designer writes: the device, its settings and menus, its conditions and its words."""
