"""Pure, vectorised physics: circuits, water, air, motors and conductors."""
