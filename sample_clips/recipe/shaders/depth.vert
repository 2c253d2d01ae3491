in vec3 position;

uniform mat4 camera_view;

void main() {
    gl_Position = camera_view * vec4(position, 1.0);
}
