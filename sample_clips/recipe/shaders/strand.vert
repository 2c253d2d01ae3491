in vec3 position, along;
in vec2 root_and_shade;

uniform mat4 camera_view;
uniform mat4 light_view;

out vec3 place, direction;
out vec2 strand;
out vec4 in_light;

void main() {
    place = position;
    direction = along;
    strand = root_and_shade;
    in_light = light_view * vec4(position, 1.0);
    gl_Position = camera_view * vec4(position, 1.0);
}
