//! Tanks and containers: volume, ullage, free surface, slosh, flow between cells, wall stress.
